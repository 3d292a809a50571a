// Covers: desk/frame_reader, desk/frame_picture, desk/frame_routes
#include "support/frames.h"

#include <doctest/doctest.h>

#include <cmath>
#include <thread>

#include "capture/capture.h"
#include "desk/frame_picture.h"
#include "desk/served_desk.h"
#include "support/memory_capture.h"

TEST_SUITE("desk/frames") {
  namespace {

  using namespace lull;
  using test::Reply;
  using test::sample;
  using test::ServedDesk;

  std::vector<std::uint16_t> samples_in(const std::string& bytes) {
    std::vector<std::uint16_t> out;
    for (std::size_t i = 0; i + 1 < bytes.size(); i += 2) {
      out.push_back(static_cast<std::uint16_t>(static_cast<unsigned char>(bytes[i]) |
                                               static_cast<unsigned char>(bytes[i + 1]) << 8U));
    }
    return out;
  }

  // Planes one after the other, as samples that are interleaved.
  std::vector<std::uint16_t> interleaved(const capture::Frame& frame) {
    std::vector<std::uint16_t> out;
    for (int y = 0; y < frame.size().height_px; ++y) {
      for (int x = 0; x < frame.size().width_px; ++x) {
        for (int c = 0; c < frame.plane_count; ++c) {
          const SampleView& plane = frame.planes[static_cast<std::size_t>(c)];
          out.push_back(plane.type == SampleType::u8 ? plane.row<std::uint8_t>(y)[x]
                                                     : plane.row<std::uint16_t>(y)[x]);
        }
      }
    }
    return out;
  }

  int number_of(const Reply& reply, const std::string& header) {
    return std::stoi(reply.headers.at(header));
  }

  }  // namespace

  TEST_CASE("recorded samples are those that the capture reads, frame by frame") {
    const std::vector<std::string> names = {"highland.mkv",  "ringed_faint.ser", "belts_mosaic.nut",
                                            "telephone.mp4", "webcam_uyvy.avi",  "globe_cube.fits"};
    const ServedDesk served(names);
    for (const std::string& name : names) {
      const auto capture = capture::Capture::open(sample(name));
      const std::string address = served.capture(name);
      for (const FrameIndex index : {FrameIndex{0}, FrameIndex{7}, FrameIndex{3}}) {
        CAPTURE(name);
        CAPTURE(index);
        const auto frame = capture->at(index);
        REQUIRE(frame.ok());
        const Reply reply =
            served.client().get(address + "/frames/" + std::to_string(index) + "?format=recorded");
        REQUIRE(reply.status == 200);
        CHECK(number_of(reply, "x-width") == frame.value().size().width_px);
        CHECK(number_of(reply, "x-channels") == frame.value().plane_count);
        CHECK(reply.headers.at("x-cfa") == capture::cfa_name(capture->info().cfa));
        CHECK(samples_in(reply.body) == interleaved(frame.value()));
      }
    }
  }

  TEST_CASE("samples are light from 0 to 1, cropped and reduced as asked") {
    const ServedDesk served({"highland.mkv"});
    const auto capture = capture::Capture::open(sample("highland.mkv"));
    const auto frame = capture->at(5);
    REQUIRE(frame.ok());
    const std::string address = served.capture("highland.mkv") + "/frames/5?format=samples";
    const Reply reply = served.client().get(address + "&crop=10,20,32,24&width=16");
    REQUIRE(reply.status == 200);
    CHECK(number_of(reply, "x-width") == 16);
    CHECK(number_of(reply, "x-height") == 12);
    CHECK(number_of(reply, "x-reduction") == 2);
    CHECK(reply.headers.at("x-transfer") == "linear");
    CHECK(std::stod(reply.headers.at("x-show-black")) <
          std::stod(reply.headers.at("x-show-white")));
    const auto got = samples_in(reply.body);
    REQUIRE(got.size() == 16 * 12);
    const SampleView& plane = frame.value().planes[0];
    for (const auto& [x, y] : {std::pair{0, 0}, {15, 11}, {3, 7}}) {
      double sum = 0;
      for (int j = 0; j < 2; ++j) {
        for (int i = 0; i < 2; ++i) {
          const int at_x = 10 + 2 * x + i;
          const int at_y = 20 + 2 * y + j;
          sum += capture->info().scale.to_light(plane.type == SampleType::u8
                                                    ? plane.row<std::uint8_t>(at_y)[at_x]
                                                    : plane.row<std::uint16_t>(at_y)[at_x]);
        }
      }
      CHECK(std::abs(got[static_cast<std::size_t>(y * 16 + x)] - 65535 * sum / 4) <= 1);
    }
  }

  TEST_CASE("pictures for the eye are whole JPEG and PNG files") {
    const ServedDesk served({"belts_mosaic.nut"});
    const std::string address = served.capture("belts_mosaic.nut");
    const Reply jpeg = served.client().get(address + "/frames/0");
    CHECK(jpeg.headers.at("content-type") == "image/jpeg");
    CHECK(jpeg.body.starts_with("\xff\xd8\xff"));
    CHECK(jpeg.body.ends_with("\xff\xd9"));
    const Reply png = served.client().get(address + "/frames/0?format=png&width=100");
    CHECK(png.headers.at("content-type") == "image/png");
    CHECK(png.body.starts_with("\x89PNG\r\n\x1a\n"));
    const Reply thumbnail = served.client().get(address + "/thumbnail");
    CHECK(thumbnail.body.starts_with("\xff\xd8\xff"));
    // The same black and white for all frames, or those given.
    CHECK(served.client().get(address + "/frames/0?black=0&white=1").body != jpeg.body);
  }

  TEST_CASE("what is not there or makes no sense is refused") {
    const ServedDesk served({"highland.mkv", "telephone.mp4"});
    const std::string frames = served.capture("highland.mkv") + "/frames/";
    CHECK(served.client().get(frames + "1000000").status == 404);
    for (const char* rest : {"-1", "x", "1e3", "99999999999999999999", "0?format=gif",
                             "0?crop=1,2,3", "0?crop=5000,0,10,10", "0?width=0",
                             "0?black=2&white=1", "0?black=nan", "0?crop=-1,0,5,5"}) {
      CAPTURE(rest);
      CHECK(served.client().get(frames + rest).status == 400);
    }
    CHECK(served.client().get("/api/captures/0123456789abcdef/frames/0").status == 404);
  }

  TEST_CASE("cells say where a frame is sharp") {
    const ServedDesk served({"highland.mkv"});
    const std::string address = served.capture("highland.mkv") + "/frames/4/cells";
    const auto cells = served.client().get(address).json();
    const std::size_t columns = cells.at("columns");
    const std::size_t rows = cells.at("rows");
    const auto info = capture::Capture::open(sample("highland.mkv"))->info();
    CHECK(columns == static_cast<std::size_t>(info.size.width_px / 16));
    CHECK(cells.at("sharpness").size() == columns * rows);
    double sum = 0;
    for (const double one : cells.at("sharpness")) sum += one;
    CHECK(sum > 0);
  }

  TEST_CASE("many ask for frames of several captures at once") {
    const std::vector<std::string> names = {"highland.mkv", "ringed_faint.ser", "belts_mosaic.nut",
                                            "granules.mkv", "telephone.mp4"};
    const ServedDesk served(names);
    std::vector<std::string> addresses;
    for (const std::string& name : names) addresses.push_back(served.capture(name));
    std::vector<std::jthread> threads;
    std::atomic<int> well{0};
    for (int t = 0; t < 8; ++t) {
      threads.emplace_back([&, t] {
        for (int i = 0; i < 10; ++i) {
          const auto& address = addresses[static_cast<std::size_t>(t + i) % addresses.size()];
          well += served.client().get(address + "/frames/" + std::to_string(i)).status == 200;
        }
      });
    }
    threads.clear();
    CHECK(well == 80);
  }

  // A plane of a mosaic that is linear in x and y is met by every interpolation between neighbours.
  TEST_CASE("the colours of a mosaic are interpolated between samples of that colour") {
    for (const auto cfa :
         {capture::Cfa::rggb, capture::Cfa::bggr, capture::Cfa::gbrg, capture::Cfa::grbg}) {
      const Size size{24, 18};
      const auto value = [](int x, int y, int c) { return 1000.0 + 200 * c + 4 * x + 8 * y; };
      const capture::Frame frame = test::mosaic_frame(size, cfa, value);
      const capture::CaptureInfo info = test::mosaic_info(size, 12, cfa);
      const Box box{3, 2, 20, 15};
      const files::Picture picture = desk::light_of(frame, info, box);
      REQUIRE(picture.channels.size() == 3);
      for (int y = 0; y < box.height_px(); ++y) {
        for (int x = 0; x < box.width_px(); ++x) {
          for (int c = 0; c < 3; ++c) {
            const double light = info.scale.to_light(value(x + box.x0, y + box.y0, c));
            CHECK(std::abs(picture.channels[static_cast<std::size_t>(c)].row(y)[x] -
                           static_cast<float>(light)) < 1e-6F);
          }
        }
      }
    }
  }

  TEST_CASE("a picture smaller than the square of its reduction has one pixel") {
    files::Picture picture = files::make_picture({5, 2}, 1);
    picture.channels[0].fill(0.5F);
    const files::Picture small = desk::reduced(std::move(picture), 8);
    CHECK(small.size() == Size{1, 1});
    CHECK(small.channels[0].row(0)[0] == doctest::Approx(0.5));
  }
}

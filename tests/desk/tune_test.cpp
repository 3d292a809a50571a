// Covers: desk/previews, desk/tune_routes, desk/frame_beside, desk/picture_response
#include <doctest/doctest.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <thread>

#include "desk/served_desk.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/text.h"

TEST_SUITE("desk/tune") {
  namespace {

  using namespace lull;
  using nlohmann::json;
  using test::contains;
  using test::Reply;
  using test::ServedDesk;
  namespace fs = std::filesystem;

  // Stacks a sample. @return the address of the result.
  std::string stacked(const ServedDesk& served, const std::string& name,
                      const json& options = json::object()) {
    const json body = {
        {"verb", "stack"}, {"captures", {served.listed(name).at("id")}}, {"options", options}};
    const json job = served.end_of_job(served.client().post("/api/jobs", body).json());
    REQUIRE(job.at("state") == "done");
    return "/api/results/" + job.at("results")[0].get<std::string>();
  }

  std::vector<double> light_in(const Reply& reply) {
    const double black = std::stod(reply.headers.at("x-black"));
    const double white = std::stod(reply.headers.at("x-white"));
    std::vector<double> out;
    for (std::size_t i = 0; i + 1 < reply.body.size(); i += 2) {
      const unsigned value = static_cast<unsigned char>(reply.body[i]) |
                             static_cast<unsigned>(static_cast<unsigned char>(reply.body[i + 1]))
                                 << 8U;
      out.push_back(black + (white - black) * value / 65535);
    }
    return out;
  }

  double correlation_of(const std::vector<double>& a, const std::vector<double>& b) {
    REQUIRE(a.size() == b.size());
    double n = 0, sa = 0, sb = 0, saa = 0, sbb = 0, sab = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
      n += 1;
      sa += a[i];
      sb += b[i];
      saa += a[i] * a[i];
      sbb += b[i] * b[i];
      sab += a[i] * b[i];
    }
    return (n * sab - sa * sb) / std::sqrt((n * saa - sa * sa) * (n * sbb - sb * sb));
  }

  // Mean of all samples, of 255, as the Python library Pillow reads them.
  double brightness_of(const std::string& file) {
    const test::Run ran = test::run_program(
        {"/usr/bin/python3", "-c",
         "import sys\n"
         "from PIL import Image, ImageStat\n"
         "print(sum(ImageStat.Stat(Image.open(sys.argv[1]).convert('RGB')).mean) / 3)",
         file});
    CAPTURE(ran.errors);
    REQUIRE(ran.status == 0);
    return std::stod(ran.output);
  }

  }  // namespace

  TEST_CASE("an export has the bytes of lull finish with these options") {
    const ServedDesk served({"belts_mosaic.nut"});
    const std::string result = stacked(served, "belts_mosaic.nut");
    const json body = {{"options", {{"--tone", "gamma"}, {"--detail", "1.5:2,3:1.6"}}},
                       {"output", "belts_gamma.png"},
                       {"share", {{"output", "belts_small.jpg"}, {"caption", "auto"}}}};
    const Reply started = served.client().post(result + "/export", body);
    REQUIRE(started.status == 201);
    CHECK(started.json().at("verb") == "finish");
    const json job = served.end_of_job(started.json());
    REQUIRE(job.at("state") == "done");
    const fs::path results = served.folder() / "results";
    const test::TemporaryFolder other;
    const test::Run run =
        test::run_lull({"finish", (results / "belts_mosaic_stack.linear.fits").string(), "-o",
                        other.file("belts_gamma.png"), "--tone", "gamma", "--detail", "1.5:2,3:1.6",
                        "--share", other.file("belts_small.jpg"), "--caption", "auto", "--quiet"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    for (const char* name : {"belts_gamma.png", "belts_small.jpg"}) {
      CAPTURE(name);
      CHECK_FALSE(test::text_of(results / name).empty());
      CHECK(test::text_of(results / name) == test::text_of(other / name));
    }
    const json made =
        served.client().get("/api/results/" + job.at("results")[0].get<std::string>()).json();
    CHECK(made.at("verb") == "finish");
    CHECK(made.at("captures") == json::array({served.listed("belts_mosaic.nut").at("id")}));
    // As a screen shows it: what has the tone of screens is as it is, what is in proportion to
    // light about as bright.
    const std::string shown = "/api/results/" + job.at("results")[0].get<std::string>();
    const auto keep = [&](const char* name, const std::string& address) {
      std::ofstream(other.file(name), std::ios::binary) << served.client().get(address).body;
    };
    keep("of_gamma.jpg", shown + "/picture");
    keep("of_linear.jpg", result + "/picture");
    const double gamma = brightness_of(other.file("belts_gamma.png"));
    CHECK(std::abs(brightness_of(other.file("of_gamma.jpg")) - gamma) < 1);
    CHECK(std::abs(brightness_of(other.file("of_linear.jpg")) - gamma) < 12);
    // A recipe holds what decides the bytes of the picture; the shared copy is not among it.
    CHECK(contains(made.at("command").get<std::string>(), " --detail 1.5:2,3:1.6 --tone gamma"));
    CHECK(contains(job.at("command").get<std::string>(), "lull finish "));
    // Nothing is overwritten.
    CHECK(served.client().post(result + "/export", body).status == 409);
  }

  TEST_CASE("a preview of a region is what the finished picture has there") {
    const ServedDesk served({"highland.mkv"});
    const std::string result = stacked(served, "highland.mkv");
    const auto picture =
        files::read_picture(served.folder() / "results/highland_stack.linear.fits").picture;
    const json region = {20, 10, 64, 48};
    const json details = served.client().get(result).json();
    CHECK(details.at("width") == picture.size().width_px);
    CHECK(details.at("height") == picture.size().height_px);
    CHECK(details.at("channels") == 1);
    const Reply plain =
        served.client().post(result + "/preview", {{"region", region}, {"of", "linear"}});
    REQUIRE(plain.status == 200);
    CHECK(plain.headers.at("x-width") == "64");
    CHECK(plain.headers.at("x-height") == "48");
    CHECK(plain.headers.at("x-picture-width") == std::to_string(picture.size().width_px));
    const double step =
        std::stod(plain.headers.at("x-white")) - std::stod(plain.headers.at("x-black"));
    const auto light = light_in(plain);
    for (const auto& [x, y] : {std::pair{0, 0}, {63, 47}, {31, 5}}) {
      CHECK(std::abs(light[static_cast<std::size_t>(y * 64 + x)] -
                     static_cast<double>(picture.channels[0].row(10 + y)[20 + x])) <= step / 65535);
    }
    const Reply finished = served.client().post(result + "/preview", {{"region", region}});
    CHECK(finished.body != plain.body);
    CHECK(finished.headers.at("x-transfer") == "linear");
    CHECK(std::stod(finished.headers.at("x-show-black")) <
          std::stod(finished.headers.at("x-show-white")));
    const Reply toned = served.client().post(
        result + "/preview", {{"region", region}, {"options", {{"--tone", "gamma"}}}});
    CHECK(toned.headers.at("x-transfer") == "screen");
    const Reply small =
        served.client().post(result + "/preview", {{"region", region}, {"width", 20}});
    CHECK(small.headers.at("x-width") == "16");
    CHECK(small.headers.at("x-reduction") == "4");
    const json frc = served.client().get(result + "/frc").json();
    CHECK(frc.at("frc").size() > 10);
    CHECK(frc.at("frc").size() == frc.at("frequency_cycles_per_px").size());
    CHECK(frc.at("resolution_px").get<double>() > 1);
  }

  TEST_CASE("where noise is raised is told by place, and restraint holds it back") {
    const ServedDesk served({"highland.mkv"});
    const std::string noise = stacked(served, "highland.mkv") + "/noise";
    const auto raised = [&](const std::string& restraint) {
      const json options = {{"--detail", "1:9,1.6:5"}, {"--restraint", restraint}};
      const json answer = served.client().post(noise, {{"options", options}}).json();
      CHECK(answer.at("cell_px") == 16);
      const json& times = answer.at("times");
      CHECK(times.size() == answer.at("columns").get<int>() * answer.at("rows").get<int>());
      return std::count_if(times.begin(), times.end(),
                           [](const json& one) { return one.get<double>() > 1; });
    };
    CHECK(raised("0") > 200);
    CHECK(raised("1") == 0);
    CHECK(served.client().post(noise, {{"options", {{"--detail", "1:x"}}}}).status == 400);
    CHECK(served.client().post("/api/results/none/noise", json::object()).status == 404);
  }

  TEST_CASE("the best frame is shown in the place of the picture, once the capture is surveyed") {
    const ServedDesk served({"highland.mkv"});
    const std::string result = stacked(served, "highland.mkv");
    const json body = {{"region", {20, 20, 80, 60}}, {"of", "best"}};
    CHECK(served.client().post(result + "/preview", body).status == 409);
    const Reply survey =
        served.client().post(served.capture("highland.mkv") + "/survey", json::object());
    REQUIRE(served.end_of_job(survey.json()).at("state") == "done");
    const Reply best = served.client().post(result + "/preview", body);
    REQUIRE(best.status == 200);
    const auto frame = light_in(best);
    const auto stack_at = [&](int x, int y) {
      return light_in(served.client().post(result + "/preview",
                                           {{"region", {x, y, 80, 60}}, {"of", "linear"}}));
    };
    // The detail of both lies in the same place: elsewhere they agree less.
    const double here = correlation_of(frame, stack_at(20, 20));
    CHECK(here > 0.8);
    for (const auto& [left, top] : {std::pair{17, 20}, {23, 20}, {20, 17}, {20, 23}}) {
      const double there = correlation_of(frame, stack_at(left, top));
      CAPTURE(there);
      CHECK(there < here);
    }
  }

  TEST_CASE("previews and exports that make no sense are refused") {
    const ServedDesk served({"ringed_faint.ser"});
    const std::string result = stacked(served, "ringed_faint.ser", {{"--finish", "none"}});
    // Without restoring the picture is the linear stack, and no other is written.
    if (served.client().get(result).json().at("linear") == false) {
      CHECK(served.client().post(result + "/preview", json::object()).status == 409);
      CHECK(served.client().post(result + "/export", json::object()).status == 409);
    }
    const std::string other = stacked(served, "ringed_faint.ser");
    for (const json& body : std::vector<json>{{{"region", {0, 0, 0, 0}}},
                                              {{"region", {-1, 0, 9, 9}}},
                                              {{"region", {99999, 0, 9, 9}}},
                                              {{"region", {0, 0, 9}}},
                                              {{"region", "all"}},
                                              {{"width", 0}},
                                              {{"width", "x"}},
                                              {{"of", "dream"}},
                                              {{"of", 7}},
                                              {{"options", {{"--detail", "x"}}}},
                                              {{"options", {{"--share", "x.jpg"}}}},
                                              {{"options", {{"--saturation", 2}}}},
                                              {{"options", 7}}}) {
      CAPTURE(body.dump());
      CHECK(served.client().post(other + "/preview", body).status == 400);
    }
    for (const json& body : std::vector<json>{{{"output", "../x.png"}},
                                              {{"output", 7}},
                                              {{"output", "x.gif"}},
                                              {{"share", 7}},
                                              {{"share", {{"output", "/tmp/x.jpg"}}}},
                                              {{"options", {{"--output", "/tmp/x.tif"}}}},
                                              {{"options", {{"stack", "/etc/passwd"}}}}}) {
      CAPTURE(body.dump());
      CHECK(served.client().post(other + "/export", body).status == 400);
    }
    CHECK(served.client().post("/api/results/0123456789abcdef/preview", json::object()).status ==
          404);
    CHECK(served.client().post("/api/results/0123456789abcdef/export", json::object()).status ==
          404);
    CHECK(served.client().get("/api/results/0123456789abcdef/frc").status == 404);
  }

  TEST_CASE("pages that have left are not worked for") {
    const ServedDesk served({"highland.mkv"});
    const std::string result = stacked(served, "highland.mkv");
    static_cast<void>(served.client().post(result + "/preview", json::object()));
    const auto begin = std::chrono::steady_clock::now();
    const std::string body = "{}";
    for (int i = 0; i < 60; ++i) {
      const test::Wire wire(served.client().port());
      wire.send("POST " + result + "/preview HTTP/1.1\r\nHost: localhost\r\nContent-Length: 2\r\n" +
                "Authorization: Bearer " + served.client().key() + "\r\n\r\n" + body);
    }
    CHECK(served.client().post(result + "/preview", {{"region", {0, 0, 20, 20}}}).status == 200);
    CHECK(std::chrono::steady_clock::now() - begin < std::chrono::seconds(5));
  }
}

// Covers: capture/encoded_file
#include "capture/film_writer.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "support/bytes.h"
#include "support/ffmpeg.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

TEST_SUITE("capture/film_writer") {
  namespace {

  using namespace lull;
  using namespace lull::test;
  using capture::FilmOptions;
  using capture::FilmWriter;
  using nlohmann::json;

  constexpr Size kSize{66, 50};
  constexpr int kPictures = 6;

  // A soft disc that moves, in colour.
  files::Bitmap picture_of(int index, int channels, Size size = kSize) {
    files::Bitmap out{size.width_px, size.height_px, channels, {}};
    for (int y = 0; y < size.height_px; ++y) {
      for (int x = 0; x < size.width_px; ++x) {
        const double r = std::hypot(x - 25.0 - 2 * index, y - 24.0);
        const double light = 230 / (1 + std::exp((r - 14) / 1.5));
        for (int c = 0; c < channels; ++c)
          out.samples.push_back(static_cast<std::uint8_t>(light * (1 - 0.25 * c) + 8 * c));
      }
    }
    return out;
  }

  void write_film(const std::string& path, FilmOptions options, int channels, Size size = kSize) {
    if (options.colours.empty()) {
      files::ColourCount count;
      for (int i = 0; i < kPictures; ++i) count.add(picture_of(i, channels));
      options.colours = count.table();
    }
    FilmWriter writer(path, size, options);
    for (int i = 0; i < kPictures; ++i) writer.add(picture_of(i, channels));
    writer.finish();
  }

  json probed(const std::string& path) {
    const Run run = run_program({"ffprobe", "-v", "error", "-count_frames", "-show_streams",
                                 "-show_format", "-of", "json", path});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return json::parse(run.output);
  }

  json read_by_pil(const std::string& path) {
    return json::parse(reference_of("capture/films.py", {"pil", path}));
  }

  // Root mean square difference of decoded RGB from what was given, levels.
  double error_of(const std::vector<std::byte>& decoded, int channels) {
    double sum = 0;
    std::size_t at = 0;
    for (int i = 0; i < kPictures; ++i) {
      const files::Bitmap given = picture_of(i, channels);
      for (int p = 0; p < kSize.width_px * kSize.height_px; ++p) {
        for (int c = 0; c < 3; ++c) {
          const int wanted =
              given.samples[static_cast<std::size_t>(p * channels + std::min(c, channels - 1))];
          const double error = std::to_integer<int>(decoded[at++]) - wanted;
          sum += error * error;
        }
      }
    }
    REQUIRE(at == decoded.size());
    return std::sqrt(sum / static_cast<double>(at));
  }

  std::vector<std::byte> joined(const std::vector<Bytes>& pictures) {
    std::vector<std::byte> out;
    for (const Bytes& picture : pictures) out.insert(out.end(), picture.begin(), picture.end());
    return out;
  }

  }  // namespace

  TEST_CASE("MP4 and WebM: ffprobe and ffmpeg see every picture, its speed and its colours") {
    const TemporaryFolder folder;
    for (const auto& kind : {std::pair{"mp4", "h264"}, std::pair{"webm", "vp9"}}) {
      const std::string ending = kind.first;
      const std::string codec = kind.second;
      CAPTURE(ending);
      const std::string path = folder.file("a." + ending);
      write_film(path, {.pictures_per_s = 5}, 3);
      const json found = probed(path).at("streams").at(0);
      CHECK(found.at("codec_name") == codec);
      CHECK(found.at("width") == kSize.width_px);
      CHECK(found.at("height") == kSize.height_px);
      CHECK(found.at("pix_fmt") == "yuv420p");
      CHECK(found.at("color_space") == "bt709");
      CHECK(found.at("color_range") == "tv");
      CHECK(found.at("r_frame_rate") == "5/1");
      CHECK(found.at("nb_read_frames") == std::to_string(kPictures));
      const auto decoded =
          joined(decoded_by_ffmpeg(path, "rgb24", static_cast<std::size_t>(3 * kSize.area_px())));
      CHECK(error_of(decoded, 3) < 4);  // PSNR over 36 dB, colours at half the resolution
    }
  }

  TEST_CASE("animated PNG loses nothing, and states speed and plays (PIL)") {
    const TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      write_film(folder.file("a.png"), {.pictures_per_s = 4, .plays = 3}, channels);
      const json found = read_by_pil(folder.file("a.png"));
      CHECK(found.at("format") == "PNG");
      CHECK(found.at("pictures") == kPictures);
      CHECK(found.at("durations").at(1) == doctest::Approx(250));
      CHECK(found.at("loop") == 3);  // APNG counts plays
      reference_of("capture/films.py", {"pixels", folder.file("a.png"), folder.file("rgb")});
      CHECK(error_of(read_file(folder / "rgb"), channels) == 0);
    }
  }

  TEST_CASE("GIF: speed to 1/100 s, repetitions, colours within a few levels; grays exact (PIL)") {
    const TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      write_film(folder.file("a.gif"), {.pictures_per_s = 8, .plays = 3}, channels);
      const json found = read_by_pil(folder.file("a.gif"));
      CHECK(found.at("format") == "GIF");
      CHECK(found.at("pictures") == kPictures);
      CHECK(std::abs(found.at("durations").at(2).get<double>() - 125) <= 5);
      CHECK(found.at("loop") == 2);  // GIF counts repetitions
      reference_of("capture/films.py", {"pixels", folder.file("a.gif"), folder.file("rgb")});
      CHECK(error_of(read_file(folder / "rgb"), channels) <= (channels == 1 ? 0 : 5));
    }
    write_film(folder.file("forever.gif"), {}, 1);
    CHECK(read_by_pil(folder.file("forever.gif")).at("loop") == 0);
    write_film(folder.file("once.gif"), {.plays = 1}, 1);
    CHECK(read_by_pil(folder.file("once.gif")).at("loop").is_null());
  }

  TEST_CASE("the same pictures give the same bytes; odd sides are cut where a format needs it") {
    const TemporaryFolder folder;
    for (const char* ending : {"mp4", "webm", "gif", "png"}) {
      CAPTURE(ending);
      const std::string one = folder.file(std::string("one.") + ending);
      const std::string two = folder.file(std::string("two.") + ending);
      write_film(one, {}, 3);
      write_film(two, {}, 3);
      CHECK(read_file(one) == read_file(two));
    }
    CHECK(capture::film_size(capture::FilmFormat::mp4, {65, 49}) == Size{64, 48});
    CHECK(capture::film_size(capture::FilmFormat::gif, {65, 49}) == Size{65, 49});
    write_film(folder.file("cut.mp4"), {}, 3, {64, 48});
    CHECK(probed(folder.file("cut.mp4")).at("streams").at(0).at("width") == 64);
  }

  TEST_CASE("names of other formats, missing folders and full disks are refused") {
    const TemporaryFolder folder;
    CHECK(capture::film_format_of("A.MP4") == capture::FilmFormat::mp4);
    const std::string other =
        message_of<UsageError>([] { static_cast<void>(capture::film_format_of("moon.avi")); });
    CHECK(contains(other, "moon.avi: the name of a film must end in .mp4, .webm, .gif or .png"));
    CHECK_THROWS_AS(FilmWriter(folder.file("none/a.mp4"), kSize, {}), OutputError);
    { FilmWriter unfinished(folder.file("a.mp4"), kSize, {}); }
    CHECK(folder.names().empty());
  }
}

// Covers: run/run_animate, run/animate_request, run/animate_outcome, run/film_series
// Covers: cli/animate_text
#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>

#include "files/fits.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/scene.h"
#include "support/temporary_folder.h"
#include "support/text.h"

TEST_SUITE("cli/animate") {
  namespace {

  using namespace lull;
  using namespace lull::test;
  using nlohmann::json;

  constexpr Size kSize{120, 90};

  // FITS pictures of one scene that shifts by 2 px from one to the next, each darker than the last.
  std::vector<std::string> series(const TemporaryFolder& folder, int count, int channels = 1) {
    const Scene scene({160, 120}, 5, 2, 8);
    std::vector<std::string> out;
    for (int i = 0; i < count; ++i) {
      files::Picture picture;
      for (int c = 0; c < channels; ++c) {
        picture.channels.push_back(scene.seen(kSize, [&](int, int) {
          return Displacement{20.0 - 2 * i, 15.0 + i};
        }));
        scale(picture.channels.back().view(),
              (1.0F - 0.1F * static_cast<float>(i)) * (1.0F - 0.2F * static_cast<float>(c)));
      }
      files::Metadata metadata;
      metadata.cards = {{"DATE-OBS", "2026-03-0" + std::to_string(1 + i) + "T20:15:03.5", ""}};
      out.push_back(folder.file("s" + std::to_string(i) + ".fits"));
      files::write_fits_float(out.back(), picture.view(), metadata);
    }
    return out;
  }

  std::vector<std::string> animate(std::vector<std::string> pictures, const std::string& output,
                                   const std::vector<std::string>& more = {}) {
    pictures.insert(pictures.begin(), "animate");
    pictures.insert(pictures.end(), {"-o", output});
    pictures.insert(pictures.end(), more.begin(), more.end());
    return pictures;
  }

  Run must_animate(const std::vector<std::string>& words) {
    Run run = run_lull(words);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return run;
  }

  json read_by_pil(const std::string& path) {
    return json::parse(reference_of("capture/films.py", {"pil", path}));
  }

  // All pictures as bytes.
  std::vector<Bytes> pictures_of(const TemporaryFolder& folder, const std::string& path) {
    const json film = read_by_pil(path);
    reference_of("capture/films.py", {"pixels", path, folder.file("rgb")});
    const Bytes all = read_file(folder / "rgb");
    const auto count = film.at("pictures").get<std::size_t>();
    std::vector<Bytes> out;
    for (std::size_t i = 0; i < count; ++i) {
      const auto size = static_cast<std::ptrdiff_t>(all.size() / count);
      const auto begin = all.begin() + static_cast<std::ptrdiff_t>(i) * size;
      out.emplace_back(begin, begin + size);
    }
    return out;
  }

  double rms_apart(const Bytes& a, const Bytes& b) {
    REQUIRE(a.size() == b.size());
    double sum = 0;
    for (std::size_t i = 0; i < a.size(); ++i) {
      const double d = std::to_integer<int>(a[i]) - std::to_integer<int>(b[i]);
      sum += d * d;
    }
    return std::sqrt(sum / static_cast<double>(a.size()));
  }

  }  // namespace

  TEST_CASE("pictures are aligned and of one brightness: the film of a still scene stands still") {
    const TemporaryFolder folder;
    const auto pictures = series(folder, 4);
    const json told =
        json::parse(must_animate(animate(pictures, folder.file("a.png"), {"--json"})).output);
    for (int i = 0; i < 4; ++i) {
      const json& one = told.at("pictures").at(static_cast<std::size_t>(i));
      // Against the third: detail lies 2 px farther right and 1 px higher in each later one.
      CHECK(std::abs(one.at("shift_px").at(0).get<double>() - 2 * (i - 2)) < 0.02);
      CHECK(std::abs(one.at("shift_px").at(1).get<double>() + (i - 2)) < 0.02);
      CHECK(one.at("gain").get<double>() == doctest::Approx(0.8 / (1 - 0.1 * i)).epsilon(0.01));
    }
    const auto shown = pictures_of(folder, folder.file("a.png"));
    REQUIRE(shown.size() == 4);
    for (const Bytes& one : shown) CHECK(rms_apart(one, shown[2]) < 1.5);
    must_animate(animate(pictures, folder.file("b.png"), {"--align", "off", "--light", "kept"}));
    const auto moving = pictures_of(folder, folder.file("b.png"));
    CHECK(rms_apart(moving[0], moving[3]) > 10);
    CHECK(read_by_pil(folder.file("b.png")).at("size") == json({120, 90}));
    CHECK(told.at("width_px").get<int>() >= 112);
    CHECK(told.at("width_px").get<int>() <= 114);
  }

  TEST_CASE("there and back, speed and plays; every format opens elsewhere") {
    const TemporaryFolder folder;
    const auto pictures = series(folder, 3, 3);
    must_animate(animate(pictures, folder.file("a.gif"),
                         {"--ping-pong", "--speed", "4", "--loop", "2", "--quiet"}));
    const json gif = read_by_pil(folder.file("a.gif"));
    CHECK(gif.at("pictures") == 4);  // 0 1 2 1
    CHECK(gif.at("durations").at(1) == 250);
    CHECK(gif.at("loop") == 1);
    {
      const std::string film = folder.file("a.mp4");
      must_animate(
          animate(pictures, film, {"--ping-pong", "--speed", "4", "--loop", "2", "--quiet"}));
      const Run probe =
          run_program({"ffprobe", "-v", "error", "-count_frames", "-show_entries",
                       "stream=nb_read_frames,width,height,r_frame_rate", "-of", "json", film});
      const json stream = json::parse(probe.output).at("streams").at(0);
      CHECK(stream.at("nb_read_frames") == "8");
      CHECK(stream.at("r_frame_rate") == "4/1");
      CHECK(stream.at("width").get<int>() % 2 == 0);
      CHECK(stream.at("height").get<int>() % 2 == 0);
    }
  }

  TEST_CASE("captions: the date of each stands under it") {
    const TemporaryFolder folder;
    const auto pictures = series(folder, 2);
    must_animate(animate(pictures, folder.file("plain.png"), {"--quiet"}));
    must_animate(animate(pictures, folder.file("dated.png"), {"--caption", "date", "--quiet"}));
    const auto height = [&](const char* name) {
      return read_by_pil(folder.file(name)).at("size").at(1).get<int>();
    };
    CHECK(height("dated.png") > height("plain.png"));
    const auto below = [&](const char* name, std::size_t picture) {
      const auto all = pictures_of(folder, folder.file(name));
      const auto rows = static_cast<std::size_t>(height(name) - height("plain.png"));
      const std::size_t row = all[picture].size() / static_cast<std::size_t>(height(name));
      return Bytes(all[picture].end() - static_cast<std::ptrdiff_t>(rows * row),
                   all[picture].end());
    };
    CHECK(below("dated.png", 0) != below("dated.png", 1));
  }

  TEST_CASE("a finished series that is stretched is shown as it is") {
    const TemporaryFolder folder;
    const auto linear = series(folder, 2);
    std::vector<std::string> finished;
    for (std::size_t i = 0; i < 2; ++i) {
      finished.push_back(folder.file("f" + std::to_string(i) + ".png"));
      must_animate({"finish", linear[i], "-o", finished.back(), "--tone", "gamma", "--report",
                    "none", "--quiet"});
    }
    must_animate(animate(finished, folder.file("a.png"), {"--align", "off", "--quiet"}));
    const auto shown = pictures_of(folder, folder.file("a.png"));
    const files::PictureFile file = files::read_picture(finished[1]);
    double most = 0;
    for (int y = 0; y < kSize.height_px; ++y)
      for (int x = 0; x < kSize.width_px; ++x)
        most = std::max(
            most, std::abs(255 * static_cast<double>(file.picture.channels[0].row(y)[x]) -
                           std::to_integer<int>(
                               shown[1][static_cast<std::size_t>(3 * (y * kSize.width_px + x))])));
    CHECK(most <= 0.51);
    check_refused(animate({finished[0], linear[1]}, folder.file("b.png")), 2, "stretched");
  }

  TEST_CASE("bad input is refused with what to do, and leaves nothing") {
    const TemporaryFolder folder;
    const TemporaryFolder results;
    const auto pictures = series(folder, 3);
    const auto colour = [&] {
      const TemporaryFolder other;
      const auto made = series(other, 1, 3);
      std::filesystem::copy(made[0], folder.file("colour.fits"));
      return folder.file("colour.fits");
    }();
    const auto refused = [&](const std::vector<std::string>& given, const char* name, int status,
                             const std::string& says, const std::vector<std::string>& more = {}) {
      check_refused(animate(given, results.file(name), more), status, says);
      CHECK(results.names().empty());
    };
    refused({pictures[0]}, "a.mp4", 2, "two pictures or more");
    refused(pictures, "a.avi", 2, "must end in .mp4, .webm, .gif or .png");
    refused({pictures[0], colour}, "a.mp4", 2, "one kind");
    refused({pictures[0], sample("globe_frames/globe_001.png")}, "a.mp4", 2, "without alignment",
            {"--align", "off"});
    refused({pictures[0], sample("highland.truth.fits")}, "a.gif", 4, "do not show the same");
    refused({sample("globe_frames/globe_001.png"), sample("globe_frames/globe_002.png")}, "a.png",
            2, "does not state when it was recorded", {"--caption", "date"});
  }

  TEST_CASE("an existing film stays, and a cancelled one leaves nothing") {
    const TemporaryFolder folder;
    const TemporaryFolder results;
    const auto pictures = series(folder, 3);
    must_animate(animate(pictures, results.file("a.png"), {"--quiet"}));
    check_refused(animate(pictures, results.file("a.png")), 5, "exists already");
    RunOptions soon;
    soon.interrupt_after_ms = 1;
    const Run run = run_lull(animate(pictures, results.file("b.webm")), soon);
    CHECK(run.status == 130);
    CHECK(results.names() == std::vector<std::string>{"a.png"});
  }
}

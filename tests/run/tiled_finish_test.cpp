// Covers: run/tiled_finish, run/large_input, run/mosaic_file, run/sky_window, run/linear_file
#include "run/tiled_finish.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <array>
#include <cmath>
#include <filesystem>
#include <utility>

#include "core/error.h"
#include "files/picture_file.h"
#include "mosaic/blend.h"
#include "run/large_input.h"
#include "run/mosaic_file.h"
#include "run/option_kinds.h"
#include "support/scene.h"
#include "support/temporary_folder.h"
#include "support/text.h"

TEST_SUITE("run/tiled_finish") {
  namespace {

  using namespace lull;

  constexpr Size kLargeSize{2300, 1700};  // 2 x 2 tiles

  struct Made {
    std::vector<Plane> light;
    std::vector<Plane> noise;
    Plane covered{kLargeSize};
  };

  // Rough ground on a disc in front of dark sky, with noise; a corner that no panel shows.
  Made made(std::size_t channels) {
    constexpr Size kPattern{230, 170};
    const Plane pattern =
        test::Scene(kPattern, 11, 1.5, 6).seen(kPattern, [](int, int) { return Displacement{}; });
    Made out;
    for (std::size_t c = 0; c < channels; ++c) {
      Plane& light = out.light.emplace_back(kLargeSize);
      Plane& noise = out.noise.emplace_back(kLargeSize);
      for (int y = 0; y < kLargeSize.height_px; ++y) {
        for (int x = 0; x < kLargeSize.width_px; ++x) {
          const double r = std::hypot(x - 1300, y - 900);
          const double edge = std::clamp(0.5 + (760 - r) / 12, 0.0, 1.0);
          const auto ground = static_cast<double>(pattern.row(y % 170)[x % 230]);
          const double tint = c == 0 ? 0.8 : c == 1 ? 1.0 : 0.6;
          light.row(y)[x] = static_cast<float>(0.02 + tint * edge * ground);
        }
      }
      const auto seed = static_cast<std::uint32_t>(40 + c);
      test::add_noise(light.view(), 0.004, seed);
      test::add_noise(noise.view(), 0.004, seed + 9);
    }
    for (int y = 0; y < kLargeSize.height_px; ++y) {
      for (int x = 0; x < kLargeSize.width_px; ++x) {
        const bool shown = x + y > 500;
        out.covered.row(y)[x] = shown ? 1.0F : 0.0F;
        for (std::size_t c = 0; !shown && c < channels; ++c)
          out.light[c].row(y)[x] = out.noise[c].row(y)[x] = 0;
      }
    }
    return out;
  }

  // As blend() would give it, in tiles.
  run::LargeInput stored(const test::TemporaryFolder& folder, const Made& from, bool has_halves) {
    mosaic::Blending plan;
    plan.mosaic = kLargeSize;
    plan.channels = from.light.size();
    plan.has_halves = has_halves;
    run::MosaicFile file(folder / "m.linear.fits", plan, {});
    constexpr int kSide = 512;
    for (int y = 0; y < kLargeSize.height_px; y += kSide) {
      for (int x = 0; x < kLargeSize.width_px; x += kSide) {
        const Box box = Box{x, y, x + kSide, y + kSide}.intersection(
            {0, 0, kLargeSize.width_px, kLargeSize.height_px});
        mosaic::Tile tile{box, {}, Plane::copy_of(from.covered.view().crop(box))};
        for (std::size_t c = 0; c < from.light.size(); ++c) {
          tile.channels.push_back(
              {Plane::copy_of(from.light[c].view().crop(box)),
               has_halves ? Plane::copy_of(from.noise[c].view().crop(box)) : Plane()});
        }
        file.put(tile);
      }
    }
    finish::Measurements curves;
    if (has_halves) curves.frc = file.frc();
    file.commit(curves);
    return run::LargeInput(folder / "m.linear.fits");
  }

  run::Look look_of(const std::vector<std::pair<std::string, std::string>>& options) {
    run::Look look;
    for (const auto& [name, text] : options)
      run::option_named(run::look_options(), name).set(look, text);
    return look;
  }

  struct BothWays {
    files::Picture whole;
    files::Picture tiled;
    double whole_white = 0;  // the light that becomes white
    double tiled_white = 0;
  };

  // Light of both, before it becomes integers.
  BothWays finished_both_ways(const test::TemporaryFolder& folder, const Made& from,
                              const run::Look& look) {
    run::LargeInput input = stored(folder, from, true);
    run::TiledFinished tiled = run::finish_in_tiles(input, look, folder / "t.fits", Progress());
    static_cast<void>(run::write_tiled(folder / "t.fits", tiled, {}, look, Progress()));
    run::LargeInput again(folder / "m.linear.fits");
    const run::FinishInput whole = run::whole_of(again);
    run::Finished finished = run::finish_picture(whole.picture.view(), whole.measured, look);
    return {std::move(finished.picture), files::read_picture(folder / "t.fits").picture,
            finished.encoding.white, tiled.finished.encoding.white};
  }

  struct Difference {
    double worst = 0;
    double rms = 0;
    double seam_rms = 0;  // beside the border of tiles
  };

  Difference difference_of(const files::Picture& whole, const files::Picture& tiled) {
    Difference out;
    double count = 0;
    double seam_count = 0;
    for (std::size_t c = 0; c < whole.channels.size(); ++c) {
      for (int y = 0; y < kLargeSize.height_px; ++y) {
        for (int x = 0; x < kLargeSize.width_px; ++x) {
          const double d = static_cast<double>(whole.channels[c].row(y)[x]) -
                           static_cast<double>(tiled.channels[c].row(y)[x]);
          out.worst = std::max(out.worst, std::abs(d));
          out.rms += d * d;
          count += 1;
          if (std::abs(x - 1536) > 8) continue;
          out.seam_rms += d * d;
          seam_count += 1;
        }
      }
    }
    out.rms = std::sqrt(out.rms / count);
    out.seam_rms = std::sqrt(out.seam_rms / seam_count);
    return out;
  }

  }  // namespace

  TEST_CASE("a picture in tiles is the whole picture, nearly, also beside the borders of tiles") {
    const std::vector<std::vector<std::pair<std::string, std::string>>> looks = {
        {},
        {{"--detail", "2:2.2,4:1.5,16:1"}},
        {{"--blur", "2"}},
        {{"--white-balance", "grey"},
         {"--saturation", "1.6"},
         {"--channel-offsets", "0.4,-0.3,0,1.5"}}};
    for (std::size_t i = 0; i < looks.size(); ++i) {
      CAPTURE(i);
      const test::TemporaryFolder folder;
      const Made from = made(i == 3 ? 3 : 1);
      run::Look look = look_of(looks[i]);
      if (i == 2) look.limb = run::LimbLight::flattened;
      const BothWays both = finished_both_ways(folder, from, look);
      const Difference off = difference_of(both.whole, both.tiled);
      CAPTURE(off.worst);
      CAPTURE(off.rms);
      // The noise is 0.004. The limb is fitted to the reduced picture, the air to a part of it.
      CHECK(off.rms < 0.0003);
      CHECK(off.seam_rms < 0.0003);
      CHECK(off.worst < 0.006);
      CHECK(both.tiled_white == doctest::Approx(both.whole_white).epsilon(0.01));
      for (int x = 0; x < 400; ++x) CHECK(both.tiled.channels[0].row(40)[x] == 0);
    }
  }

  TEST_CASE("where nothing is estimated, tiles are the whole picture to the rounding of floats") {
    struct Way {
      const char* option;
      const char* value;
      float most;  // of a light up to 0.8 with a noise of 0.004
    };

    // Far enough from the edges of the picture and from what no panel shows: how these go on
    // depends on what lies around. Borders of tiles, at 1536, are among what is compared.
    constexpr int kFar = 260;
    const Made from = made(1);
    // Undoing a blur up to where detail is certain rings on beyond a tile's surroundings, faintly.
    for (const Way& way : {Way{"--detail", "none", 0},
                           {"--detail", "2:2.2,4:1.5,16:1", 5e-6F},
                           {"--blur", "2", 1e-4F}}) {
      CAPTURE(way.option);
      CAPTURE(way.value);
      const test::TemporaryFolder folder;
      const BothWays both = finished_both_ways(folder, from, look_of({{way.option, way.value}}));
      float worst = 0;
      for (int y = kFar; y < kLargeSize.height_px - kFar; ++y) {
        for (int x = kFar; x < kLargeSize.width_px - kFar; ++x) {
          if (x + y < 500 + 2 * kFar) continue;
          worst = std::max(
              worst, std::abs(both.whole.channels[0].row(y)[x] - both.tiled.channels[0].row(y)[x]));
        }
      }
      CHECK(worst <= way.most);
    }
  }

  TEST_CASE("FRC by place is measured on mosaics, and on nothing else") {
    const test::TemporaryFolder folder;
    static_cast<void>(stored(folder, made(1), true));
    run::LargeInput input(folder / "m.linear.fits");
    const run::FinishInput whole = run::whole_of(input);
    REQUIRE(whole.measured.places.size() > 100);
    const run::FinishInput read = run::read_finish_input(folder / "m.linear.fits");
    CHECK(read.measured.places.size() == whole.measured.places.size());
    run::FinishInput single;
    single.has_halves = true;
    single.picture.channels.push_back(Plane(200, 200));
    single.measured.noise.push_back(Plane(200, 200));
    run::measure_places(single);
    CHECK(single.measured.places.empty());
  }

  TEST_CASE("without half stacks the noise is that of a part") {
    const test::TemporaryFolder folder;
    const Made from = made(1);
    run::LargeInput input = stored(folder, from, false);
    CHECK_FALSE(input.has_halves());
    const run::Look look = look_of({{"--blur", "1.5"}});
    run::TiledFinished tiled = run::finish_in_tiles(input, look, folder / "t.fits", Progress());
    static_cast<void>(run::write_tiled(folder / "t.fits", tiled, {}, look, Progress()));
    run::LargeInput again(folder / "m.linear.fits");
    const run::FinishInput whole = run::whole_of(again);
    const run::Finished finished = run::finish_picture(whole.picture.view(), whole.measured, look);
    const files::Picture read = files::read_picture(folder / "t.fits").picture;
    CHECK(difference_of(finished.picture, read).rms < 0.003);
  }

  TEST_CASE("posed as a whole picture is, in bands; other turns are refused") {
    const test::TemporaryFolder folder;
    const Made from = made(1);
    run::LargeInput input = stored(folder, from, true);
    for (const auto& pose : {std::array{"--flip", "left-right"},
                             {"--rotate", "90"},
                             {"--rotate", "180"},
                             {"--rotate", "270"}}) {
      CAPTURE(pose[0]);
      CAPTURE(pose[1]);
      run::Look look = look_of({{"--detail", "none"}, {pose[0], pose[1]}});
      run::TiledFinished tiled = run::finish_in_tiles(input, look, folder / "t.fits", Progress());
      std::filesystem::remove(folder / "t.fits");
      static_cast<void>(run::write_tiled(folder / "t.fits", tiled, {}, look, Progress()));
      const files::Picture read = files::read_picture(folder / "t.fits").picture;
      const Plane expected = finish::posed(from.light[0].view(), look.pose, 0);
      REQUIRE(read.size() == expected.size());
      bool same = true;
      for (int y = 0; y < expected.height(); ++y)
        same = same && std::equal(expected.row(y), expected.row(y) + expected.width(),
                                  read.channels[0].row(y));
      CHECK(same);
    }
    run::check_tiled_look(look_of({{"--rotate", "270"}}), kLargeSize);
    CHECK(test::contains(test::message_of<UsageError>([&] {
                           run::check_tiled_look(look_of({{"--rotate", "12"}}), kLargeSize);
                         }),
                         "90, 180 or 270 degrees only"));
  }

  TEST_CASE("the reduced picture has larger pixels, and no light from what no panel shows") {
    const auto cards =
        run::reduced_cards({{"PIXSCALE", 0.25, ""}, {"OBJECT", std::string("moon"), ""}}, 4);
    CHECK(std::get<double>(cards[0].value) == 1.0);
    const test::TemporaryFolder folder;
    Made from = made(1);
    run::LargeInput input = stored(folder, from, true);
    const run::TiledFinished tiled =
        run::finish_in_tiles(input, look_of({{"--detail", "none"}}), folder / "t.fits", Progress());
    CHECK(tiled.side == 1);
    CHECK(tiled.picture.channels[0].row(900)[1300] == from.light[0].row(900)[1300]);
    CHECK(tiled.picture.channels[0].row(10)[10] == 0);
  }
}

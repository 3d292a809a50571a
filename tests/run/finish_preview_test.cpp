// Covers: run/settled_look, run/look_geometry
#include "run/finish_preview.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>

#include "core/error.h"
#include "files/picture_file.h"
#include "run/finish_outcome.h"
#include "run/option_kinds.h"
#include "run/stack_outcome.h"
#include "support/temporary_folder.h"

TEST_SUITE("run/finish_preview") {
  namespace {

  using namespace lull;

  // The linear stack of a sample.
  std::string stacked(const test::TemporaryFolder& folder, const std::string& sample) {
    run::StackRequest request;
    request.input.captures = {std::string(LULL_SAMPLES) + "/" + sample};
    request.output = folder.file("s.tif");
    request.report.where = run::ReportChoice::Where::nowhere;
    static_cast<void>(run::run_stack(request, {}));
    return folder.file("s.linear.fits");
  }

  run::Look look_with(const std::vector<std::pair<std::string, std::string>>& options) {
    run::Look look;
    for (const auto& [name, text] : options)
      run::option_named(run::look_options(), name).set(look, text);
    return look;
  }

  // Of the whole picture, as FITS gives it: without any encoding.
  files::Picture finished(const test::TemporaryFolder& folder, const std::string& stack,
                          const run::Look& look) {
    run::FinishRequest request;
    request.input = stack;
    request.look = look;
    request.output = folder.file("f.fits");
    request.report.where = run::ReportChoice::Where::nowhere;
    static_cast<void>(run::run_finish(request, {Progress(), {0, 0, run::ExistingFiles::replace}}));
    return files::read_picture(request.output).picture;
  }

  double largest_difference(const files::Picture& a, const files::Picture& b, const Box& part) {
    double most = 0;
    for (std::size_t c = 0; c < a.channels.size(); ++c) {
      for (int y = 0; y < a.size().height_px; ++y) {
        for (int x = 0; x < a.size().width_px; ++x) {
          most = std::max(
              most, std::abs(static_cast<double>(a.channels[c].row(y)[x]) -
                             static_cast<double>(b.channels[c].row(y + part.y0)[x + part.x0])));
        }
      }
    }
    return most;
  }

  }  // namespace

  TEST_CASE("the whole picture is that of lull finish to the bit, for each look in any order") {
    for (const char* sample : {"highland.mkv", "belts_mosaic.nut"}) {
      const test::TemporaryFolder folder;
      const std::string stack = stacked(folder, sample);
      run::FinishPreview preview(stack);
      const Box all = {0, 0, preview.size().width_px, preview.size().height_px};
      std::vector<run::Look> looks = {look_with({}),
                                      look_with({{"--detail", "1.5:2,3:1.6"}}),
                                      look_with({{"--detail", "2:0.5,6:1"}}),
                                      look_with({{"--blur", "2"}, {"--restraint", "0.5"}}),
                                      look_with({{"--tone", "gamma"}}),
                                      look_with({})};
      if (std::string(sample) == "belts_mosaic.nut")
        looks.push_back(look_with({{"--white-balance", "1.4,1,1.8"},
                                   {"--saturation", "1.5"},
                                   {"--channel-offsets", "0.3,-0.5,-0.2,1.4"}}));
      for (std::size_t i = 0; i < looks.size(); ++i) {
        CAPTURE(sample);
        CAPTURE(i);
        const auto part = preview.part(looks[i], all);
        CHECK(largest_difference(part.finished.picture, finished(folder, stack, looks[i]), all) ==
              0);
      }
    }
  }

  // The bound is a tenth of the noise of the stack: nobody sees it.
  TEST_CASE("a part is nearly what the whole picture has there") {
    const test::TemporaryFolder folder;
    const std::string stack = stacked(folder, "highland.mkv");
    run::FinishPreview preview(stack);
    const Size size = preview.size();
    const Box all = {0, 0, size.width_px, size.height_px};
    for (const auto& look : {look_with({}), look_with({{"--detail", "1.5:2,3:1.6"}}),
                             look_with({{"--detail", "2:0.5,6:1"}})}) {
      const auto whole = preview.part(look, all);
      for (const Box& part :
           {Box{0, 0, 40, 30}, Box{31, 17, 90, 71},
            Box{size.width_px - 33, size.height_px - 21, size.width_px, size.height_px}}) {
        const auto seen = preview.part(look, part);
        CHECK(seen.finished.picture.size() == Size{part.width_px(), part.height_px()});
        CHECK(largest_difference(seen.finished.picture, whole.finished.picture, part) < 1e-3);
        CHECK(seen.finished.levels.white == whole.finished.levels.white);
      }
    }
  }

  // Moved by whole and by broken pixels: what comes from beside the part is that of the whole.
  TEST_CASE("a part whose colours are moved is that of the whole picture too") {
    const test::TemporaryFolder folder;
    const std::string stack = stacked(folder, "belts_mosaic.nut");
    run::FinishPreview preview(stack);
    const Box all = {0, 0, preview.size().width_px, preview.size().height_px};
    const run::Look look = look_with({{"--channel-offsets", "9,-7.5,-8.25,6"}});
    const auto whole = preview.part(look, all);
    const Box part = {40, 35, 90, 80};
    const auto seen = preview.part(look, part);
    CHECK(seen.finished.picture.size() == Size{50, 45});
    CHECK(largest_difference(seen.finished.picture, whole.finished.picture, part) < 1e-3);
  }

  TEST_CASE("the stack itself is shown as it is, and what it does not have is refused") {
    const test::TemporaryFolder folder;
    const std::string stack = stacked(folder, "highland.mkv");
    run::FinishPreview preview(stack);
    const Box part = {10, 12, 50, 40};
    const run::Finished plain = preview.stack_part(part);
    CHECK(largest_difference(plain.picture, files::read_picture(stack).picture, part) == 0);
    CHECK(plain.levels.black < plain.levels.white);
    CHECK_THROWS_AS(static_cast<void>(preview.part(look_with({{"--saturation", "2"}}), part)),
                    UsageError);
    CHECK_THROWS_AS(static_cast<void>(preview.part(look_with({{"--flatten-limb", "true"}}), part)),
                    NothingUsable);
    CHECK_THROWS_AS(run::FinishPreview(folder.file("nowhere.fits")), InputError);
    CHECK(preview.bytes() > 0);
  }
}

// Covers: files/fits_canvas, files/fits_header, files/fits_boxes, files/picture_bands
#include "files/fits_canvas.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <utility>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/fits.h"
#include "files/fits_boxes.h"
#include "files/picture_file.h"
#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;

namespace {

constexpr Size kCanvasSize{700, 311};
const FitsTable kOneColumn{"CURVE", {{"VALUE", "", {1.5, 2.5}}}};
const std::vector<FitsCanvasPart> kCanvasParts = {{"NOISE", "noise of the picture", kCanvasSize, 3},
                                                  {"COVER", "what is shown", kCanvasSize, 1}};

// From the last rectangle to the first, odd sides.
void write_backwards(FitsCanvas& canvas, std::size_t image, const Picture& picture) {
  const int side = 173;
  for (std::size_t c = picture.channels.size(); c-- > 0;) {
    for (int y = kCanvasSize.height_px / side * side; y >= 0; y -= side) {
      for (int x = kCanvasSize.width_px / side * side; x >= 0; x -= side) {
        const Box box = Box{x, y, x + side, y + side}.intersection(
            {0, 0, kCanvasSize.width_px, kCanvasSize.height_px});
        canvas.write(image, c, x, y, std::as_const(picture.channels[c]).view().crop(box));
      }
    }
  }
}

bool same_samples(PlaneView a, PlaneView b) {
  for (int y = 0; y < a.height_px; ++y)
    if (!std::equal(a.row(y), a.row(y) + a.width_px, b.row(y))) return false;
  return a.size() == b.size();
}

}  // namespace

TEST_SUITE("files/fits_canvas") {
  TEST_CASE("rectangles in any order make the file that a whole picture makes, byte by byte") {
    const test::TemporaryFolder folder;
    const Picture light = test::seeded_picture(kCanvasSize, 3, 1);
    const Picture noise = test::seeded_picture(kCanvasSize, 3, 2);
    const Picture cover = test::seeded_picture(kCanvasSize, 1, 3);
    {
      FitsCanvas canvas(folder / "a.fits", kCanvasSize, 3, test::sample_metadata(), kCanvasParts);
      write_backwards(canvas, 2, cover);
      write_backwards(canvas, 0, light);
      write_backwards(canvas, 1, noise);
      const Box box{170, 160, 360, 311};
      CHECK(same_samples(canvas.read(1, 2, box).view(), noise.channels[2].view().crop(box)));
      CHECK_FALSE(std::filesystem::exists(folder / "a.fits"));
      canvas.commit({kOneColumn});
    }
    FitsParts parts;
    parts.images = {{"NOISE", "noise of the picture", noise.view()},
                    {"COVER", "what is shown", cover.view()}};
    parts.tables = {kOneColumn};
    write_fits_float(folder / "b.fits", light.view(), test::sample_metadata(), parts);
    CHECK(test::read_file(folder / "a.fits") == test::read_file(folder / "b.fits"));
    // Standard and checksums, by the tool of the FITS Support Office that Debian packs.
    const auto verified = test::run_program({"fitsverify", "-q", folder.file("a.fits")});
    CAPTURE(verified.text());
    CHECK(verified.status == 0);
  }

  TEST_CASE("what was not written is 0, before and after; without commit nothing is left") {
    const test::TemporaryFolder folder;
    {
      FitsCanvas canvas(folder / "a.fits", kCanvasSize, 1, {}, {kCanvasParts[1]});
      CHECK(canvas.read(0, 0, {3, 300, 5, 302}).row(1)[1] == 0);
      CHECK(canvas.read(1, 0, {698, 309, 700, 311}).row(1)[1] == 0);
    }
    CHECK(folder.names().empty());
    FitsCanvas canvas(folder / "a.fits", kCanvasSize, 1, {}, {kCanvasParts[1]});
    canvas.commit({});
    const auto whole = read_fits(folder / "a.fits").picture;
    CHECK(same_samples(whole.channels[0].view(), Plane(kCanvasSize).view()));
    CHECK_THROWS_AS(FitsCanvas(folder / "b.fits", {50'000, 50'000}, 1, {}), OutputError);
  }

  TEST_CASE("boxes of a file are those of its images; what is damaged is refused") {
    const test::TemporaryFolder folder;
    Picture light = test::seeded_picture(kCanvasSize, 3, 1);
    const Picture cover = test::seeded_picture(kCanvasSize, 1, 3);
    light.channels[2].row(200)[100] = std::nanf("");
    FitsParts parts;
    parts.images = {{"COVER", "what is shown", cover.view()}};
    write_fits_float(folder / "a.fits", light.view(), {}, parts);
    FitsBoxes boxes(folder / "a.fits");
    const FitsBoxes::Image first = boxes.first();
    const FitsBoxes::Image second = boxes.named("COVER");
    CHECK(first.size == kCanvasSize);
    CHECK(first.channels == 3);
    CHECK(second.channels == 1);
    CHECK(boxes.named("NOISE").channels == 0);
    const Box box{99, 150, 640, 200};
    CHECK(same_samples(boxes.read(second, 0, box).view(), cover.channels[0].view().crop(box)));
    CHECK(same_samples(boxes.read(first, 2, box).view(), light.channels[2].view().crop(box)));
    CHECK(test::contains(test::message_of<InputError>([&] {
                           (void)boxes.read(first, 2, {0, 150, 200, 250});
                         }),
                         "row 200 holds samples that are not finite"));
    const std::string whole = test::text_of(folder / "a.fits");
    write_file(folder / "cut.fits", whole.substr(0, whole.size() * 6 / 10));
    FitsBoxes cut(folder / "cut.fits");
    CHECK(test::contains(test::message_of<InputError>([&] { (void)cut.read(cut.first(), 2, box); }),
                         "cut short"));
  }

  TEST_CASE("a picture that comes in bands is written as a whole one is, in every format") {
    const test::TemporaryFolder folder;
    const Picture picture = test::seeded_picture({211, 700}, 3, 4);
    const PictureView view = picture.view();
    PictureBands bands{view.channels.front().size(), 3, {}};
    Picture held;
    int most = 0;
    bands.rows = [&](int y0, int y1) {
      most = std::max(most, y1 - y0);
      held.channels.clear();
      for (const PlaneView& channel : view.channels)
        held.channels.push_back(Plane::copy_of(channel.crop({0, y0, 211, y1})));
      return held.view();
    };
    for (const std::string ending : {".tif", ".png", ".fits"}) {
      CAPTURE(ending);
      const Clipped a = write_bands(folder / ("a" + ending), bands, {}, test::sample_metadata());
      const Clipped b = write_picture(folder / ("b" + ending), view, {}, test::sample_metadata());
      CHECK(a == b);
      CHECK(test::read_file(folder / ("a" + ending)) == test::read_file(folder / ("b" + ending)));
    }
    CHECK(most == kBandRows);
  }
}

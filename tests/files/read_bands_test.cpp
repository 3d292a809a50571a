#include "files/read_bands.h"

#include <doctest/doctest.h>

#include <algorithm>

#include "core/error.h"
#include "files/picture_file.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::files;

namespace {

struct Read {
  Picture picture;
  int bands = 0;
  bool stretched = false;
};

Read read_by_bands(const std::filesystem::path& path) {
  Read out;
  int next = 0;
  read_bands(path, {[&](const StoredFacts& facts) {
                      CHECK(out.bands == 0);
                      out.picture = make_picture(facts.size, static_cast<int>(facts.channels));
                      out.stretched = facts.stretched;
                    },
                    [&](const PictureView& band, int y0) {
                      CHECK(y0 == next);
                      REQUIRE(band.channels.size() == out.picture.channels.size());
                      for (std::size_t c = 0; c < band.channels.size(); ++c) {
                        for (int y = 0; y < band.size().height_px; ++y)
                          std::copy_n(band.channels[c].row(y), band.size().width_px,
                                      out.picture.channels[c].row(y0 + y));
                      }
                      next = y0 + band.size().height_px;
                      ++out.bands;
                    }});
  CHECK(next == out.picture.size().height_px);
  return out;
}

}  // namespace

TEST_SUITE("files/read_bands") {
  TEST_CASE("bands of files by tifffile, OpenCV and astropy make the picture that is read whole") {
    const test::TemporaryFolder folder;
    for (const char* kind :
         {"tiff-whiteiszero8", "tiff-bigendian-rgb16", "tiff-planar-rgb16", "tiff-float",
          "tiff-tiled", "tiff-tiled-big-rgb8", "tiff-tiled-planar-rgb16", "png-rgb16", "fits-u16",
          "fits-rgb-double"}) {
      CAPTURE(kind);
      std::filesystem::remove(folder / "f");
      const test::Run ran =
          test::run_pictures({"write", kind, (folder / "f").string(), (folder / "raw").string()});
      REQUIRE(ran.status == 0);
      const Read read = read_by_bands(folder / "f");
      CHECK((read.bands > 1) == std::string(kind).starts_with("tiff-tiled"));
      CHECK(test::samples_of(read.picture) == test::samples_of(read_picture(folder / "f").picture));
    }
  }

  TEST_CASE("tall pictures come in several bands, of which none is large") {
    const test::TemporaryFolder folder;
    Picture tall = make_picture({7, 3 * kBandRows + 5}, 3);
    float value = 0;
    for (Plane& channel : tall.channels) {
      for (int y = 0; y < channel.height(); ++y) {
        for (int x = 0; x < channel.width(); ++x)
          channel.row(y)[x] = static_cast<float>(static_cast<int>(value++) % 1009) / 1009;
      }
    }
    for (const char* name : {"tall.tif", "tall.fits"}) {
      CAPTURE(name);
      Metadata metadata;
      write_picture(folder / name, tall.view(), {0, 1}, metadata);
      const Read read = read_by_bands(folder / name);
      CHECK(read.bands == 4);
      CHECK_FALSE(read.stretched);
      CHECK(test::samples_of(read.picture) ==
            test::samples_of(read_picture(folder / name).picture));
    }
  }

  TEST_CASE("a file that ends early is refused as when it is read whole") {
    const test::TemporaryFolder folder;
    const Picture picture = make_picture({64, 2 * kBandRows}, 1);
    write_picture(folder / "cut.tif", picture.view(), {0, 1}, {});
    std::filesystem::resize_file(folder / "cut.tif", 200);
    CHECK_THROWS_AS(read_by_bands(folder / "cut.tif"), InputError);
    CHECK_THROWS_AS(read_by_bands(folder / "none.tif"), InputError);
  }
}

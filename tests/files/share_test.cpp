#include "files/share.h"

#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>

#include "core/error.h"
#include "files/picture_file.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::files;

TEST_SUITE("files/share") {
  TEST_CASE("a PNG holds the values in steps of 1/255, limited to [0, 1]") {
    Picture picture = make_picture({300, 2}, 3);
    for (int x = 0; x < 300; ++x) {
      for (std::size_t c = 0; c < 3; ++c)
        picture.channels[c].row(1)[x] = static_cast<float>(x - 20 * static_cast<int>(c)) / 255.0F;
    }
    const test::TemporaryFolder folder;
    write_share(folder / "shown.PNG", picture.view());
    const PictureFile read = read_picture(folder / "shown.PNG");
    CHECK(read.bits_per_sample == 8);
    CHECK(read.stretched);
    REQUIRE(read.picture.channels.size() == 3);
    for (int x = 0; x < 300; ++x) {
      for (std::size_t c = 0; c < 3; ++c) {
        const float wanted = std::clamp(picture.channels[c].row(1)[x], 0.0F, 1.0F);
        CHECK(std::abs(read.picture.channels[c].row(1)[x] - wanted) < 1e-6F);
        CHECK(read.picture.channels[c].row(0)[x] == 0);
      }
    }
  }

  TEST_CASE("names of other formats, and sides that JPEG does not allow, are errors") {
    const test::TemporaryFolder folder;
    const Picture wide = make_picture({65501, 1}, 1);
    CHECK_THROWS_AS(write_share(folder / "shown.gif", wide.view()), UsageError);
    CHECK_THROWS_WITH_AS(write_share(folder / "shown.jpg", wide.view()),
                         doctest::Contains("65501 x 1; name it .png"), OutputError);
    CHECK(std::filesystem::is_empty(folder.path()));
    write_share(folder / "shown.png", wide.view());
    const Picture widest = make_picture({65500, 1}, 1);
    write_share(folder / "shown.jpeg", widest.view());
    CHECK(std::filesystem::file_size(folder / "shown.jpeg") > 500);
  }
}

// Covers: files/exif
#include "files/share.h"

#include <doctest/doctest.h>

#include <cmath>
#include <filesystem>
#include <limits>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/picture_file.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::files;

namespace {

// As the Python library Pillow reads it.
nlohmann::json read_back(const std::string& file) {
  const test::Run ran = test::run_program(
      {"/usr/bin/python3", "-c",
       "import sys,json,io\n"
       "from PIL import Image, ImageCms\n"
       "p=Image.open(sys.argv[1]); e=p.getexif(); d=e.get_ifd(0x8769)\n"
       "c=p.info.get('icc_profile')\n"
       "c=ImageCms.getProfileDescription(ImageCms.ImageCmsProfile(io.BytesIO(c))) if c else ''\n"
       "print(json.dumps(dict(description=e.get(0x010e,''),moment=d.get(0x9003,''),\n"
       "  zone=d.get(0x9011,''),space=d.get(0xa001),version=str(d.get(0x9000)),profile=c.strip(),\n"
       "  mode=p.mode,size=p.size)))\n",
       file});
  CAPTURE(ran.text());
  REQUIRE(ran.status == 0);
  return nlohmann::json::parse(ran.output);
}

}  // namespace

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

  TEST_CASE("values between two steps go to the nearer one") {
    Picture picture = make_picture({4, 1}, 1);
    const float values[] = {100.4F, 100.6F, 0.6F, 254.6F};
    for (int x = 0; x < 4; ++x) picture.channels[0].row(0)[x] = values[x] / 255;
    const test::TemporaryFolder folder;
    write_share(folder / "a.png", picture.view());
    const PictureFile read = read_picture(folder / "a.png");
    const int expected[] = {100, 101, 1, 255};
    for (int x = 0; x < 4; ++x)
      CHECK(std::lround(read.picture.channels[0].row(0)[x] * 255) == expected[x]);
  }

  TEST_CASE("what is not a number is black") {
    Picture picture = make_picture({2, 1}, 1);
    picture.channels[0].row(0)[0] = std::nanf("");
    picture.channels[0].row(0)[1] = std::numeric_limits<float>::infinity();
    const test::TemporaryFolder folder;
    write_share(folder / "a.png", picture.view());
    const PictureFile read = read_picture(folder / "a.png");
    CHECK(read.picture.channels[0].row(0)[0] == 0);
    CHECK(read.picture.channels[0].row(0)[1] == 1);
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

  TEST_CASE("a JPEG holds the sRGB profile, when it was recorded and what it shows") {
    const test::TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      CAPTURE(channels);
      const Picture picture = test::seeded_picture({61, 40}, channels, 3);
      const std::string file = folder.file("a.jpg");
      write_share(file, picture.view(), {"2026-03-01T20:15:03.25", "Jupiter, details of 0.7″"});
      const nlohmann::json read = read_back(file);
      CHECK(read.at("description").get<std::string>().starts_with("Jupiter, details of 0.7"));
      CHECK(read.at("moment") == "2026:03:01 20:15:03");
      CHECK(read.at("zone") == "+00:00");
      CHECK(read.at("space") == 1);
      CHECK(read.at("profile").get<std::string>().size() > 3);
      CHECK(read.at("mode") == (channels == 3 ? "RGB" : "L"));
      CHECK(read.at("size") == nlohmann::json::array({61, 40}));
    }
  }

  TEST_CASE("what is not known is left out") {
    const test::TemporaryFolder folder;
    const Picture picture = test::seeded_picture({20, 20}, 1, 3);
    write_share(folder.file("a.jpg"), picture.view());
    const nlohmann::json read = read_back(folder.file("a.jpg"));
    CHECK(read.at("description") == "");
    CHECK(read.at("moment") == "");
    CHECK(read.at("space") == 1);
  }
}

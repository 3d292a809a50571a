// Covers: desk/tile_pyramid, desk/pyramids, desk/recent, desk/view_routes
// Covers: desk/picture_response
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "core/error.h"
#include "desk/problem.h"
#include "desk/pyramids.h"
#include "desk/served_desk.h"
#include "files/picture_file.h"
#include "support/run_program.h"
#include "support/text.h"

TEST_SUITE("desk/view") {
  namespace {

  using namespace lull;
  using desk::TilePyramid;
  using test::Reply;
  using test::ServedDesk;
  namespace fs = std::filesystem;

  // A level of 8 bits that differs from place to place, as a share of full scale.
  int level_at(int x, int y, int c) { return (7 * x + 13 * y + 50 * c + x * y / 97) % 256; }

  // Of a picture that states to be as a screen shows it.
  void write_shown(const fs::path& path, Size size, int channels) {
    files::Picture picture = files::make_picture(size, channels);
    for (int c = 0; c < channels; ++c) {
      for (int y = 0; y < size.height_px; ++y) {
        for (int x = 0; x < size.width_px; ++x)
          picture.channels[static_cast<std::size_t>(c)].row(y)[x] =
              static_cast<float>(level_at(x, y, c)) / 255;
      }
    }
    files::Metadata metadata;
    metadata.transfer = files::Transfer::screen;
    files::write_picture(path, picture.view(), {0, 1}, metadata);
  }

  int sample_at(const files::Bitmap& tile, int x, int y, int c) {
    return tile.samples[static_cast<std::size_t>((y * tile.width_px + x) * tile.channels + c)];
  }

  }  // namespace

  TEST_CASE("tiles hold the picture, and halves of it up to one tile") {
    const test::TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      CAPTURE(channels);
      const Size size{700, 530};
      write_shown(folder / "p.tif", size, channels);
      const TilePyramid pyramid((folder / "p.tif").string(), folder.path(), {});
      CHECK(pyramid.size() == size);
      REQUIRE(pyramid.levels() == 3);
      int wrong = 0;
      for (int row = 0; row < 3; ++row) {
        for (int column = 0; column < 3; ++column) {
          const files::Bitmap tile = pyramid.tile(2, column, row);
          CHECK(tile.width_px == std::min(256, 700 - 256 * column));
          CHECK(tile.height_px == std::min(256, 530 - 256 * row));
          REQUIRE(tile.channels == channels);
          for (int y = 0; y < tile.height_px; ++y) {
            for (int x = 0; x < tile.width_px; ++x) {
              for (int c = 0; c < channels; ++c)
                wrong += sample_at(tile, x, y, c) != level_at(256 * column + x, 256 * row + y, c);
            }
          }
        }
      }
      CHECK(wrong == 0);
      const files::Bitmap half = pyramid.tile(1, 1, 1);
      CHECK(half.width_px == 350 - 256);
      CHECK(half.height_px == 265 - 256);
      for (const auto& [x, y] : {std::pair{0, 0}, {93, 8}, {17, 3}}) {
        int sum = 2;
        for (int i = 0; i < 4; ++i)
          sum += level_at(2 * (256 + x) + i % 2, 2 * (256 + y) + i / 2, channels - 1);
        CHECK(sample_at(half, x, y, channels - 1) == sum / 4);
      }
      const files::Bitmap whole = pyramid.tile(0, 0, 0);
      CHECK(whole.width_px == 175);
      CHECK(whole.height_px == 133);
    }
    CHECK(std::distance(fs::directory_iterator(folder.path()), {}) == 1);  // and nothing beside it
  }

  TEST_CASE("light is shown with its sky black and its object bright") {
    const test::TemporaryFolder folder;
    files::Picture disc = files::make_picture({900, 900}, 1);
    for (int y = 0; y < 900; ++y) {
      for (int x = 0; x < 900; ++x)
        disc.channels[0].row(y)[x] = std::hypot(x - 450, y - 450) < 300 ? 0.02F : 0.001F;
    }
    files::write_picture(folder / "disc.fits", disc.view(), {0, 1}, {});
    const TilePyramid pyramid((folder / "disc.fits").string(), folder.path(), {});
    const files::Bitmap whole = pyramid.tile(0, 0, 0);
    CHECK(sample_at(whole, 2, 2, 0) < 10);
    CHECK(sample_at(whole, whole.width_px / 2, whole.height_px / 2, 0) > 200);
  }

  TEST_CASE("there are no other tiles, none of what is no picture, and none for who has left") {
    const test::TemporaryFolder folder;
    write_shown(folder / "p.tif", {300, 20}, 1);
    const TilePyramid pyramid((folder / "p.tif").string(), folder.path(), {});
    REQUIRE(pyramid.levels() == 2);
    for (const auto& [level, column, row] :
         {std::array{2, 0, 0}, {-1, 0, 0}, {0, 1, 0}, {1, 2, 0}, {1, 0, 1}, {1, -1, 0}}) {
      CHECK_THROWS_AS(static_cast<void>(pyramid.tile(level, column, row)), desk::Problem);
    }
    CHECK_THROWS_AS(TilePyramid(test::sample("highland.mkv"), folder.path(), {}), InputError);
    CHECK_THROWS_AS(TilePyramid((folder / "p.tif").string(), (folder / "none").string(), {}),
                    OutputError);
    CHECK_THROWS_AS(TilePyramid((folder / "p.tif").string(), folder.path(), [] { return true; }),
                    desk::Problem);
  }

  TEST_CASE("pyramids are made once, anew when the file is another, and the oldest is forgotten") {
    const test::TemporaryFolder folder;
    for (const char* name : {"a.tif", "b.tif", "c.tif"}) write_shown(folder / name, {30, 20}, 1);
    desk::Pyramids pyramids;
    const auto of = [&](const char* name, int modified_s) {
      return pyramids.of((folder / name).string(), modified_s, folder.path(), {});
    };
    std::weak_ptr<const TilePyramid> first = of("a.tif", 1);
    CHECK(of("a.tif", 1) == first.lock());
    CHECK(of("a.tif", 2) != nullptr);
    CHECK(first.expired());
    std::weak_ptr<const TilePyramid> second = of("a.tif", 2);
    static_cast<void>(of("b.tif", 1));
    CHECK_FALSE(second.expired());
    static_cast<void>(of("c.tif", 1));
    CHECK(second.expired());
  }

  TEST_CASE("a result is looked at over the interface") {
    const ServedDesk served({"highland.mkv"});
    const fs::path results = served.folder() / "results";
    fs::create_directory(results);
    const test::Run run = test::run_lull({"stack", test::sample("highland.mkv"), "-o",
                                          (results / "moon.tif").string(), "--keep", "10%",
                                          "--report", "none", "--quiet"});
    REQUIRE(run.status == 0);
    const auto& client = served.client();
    const std::string id = client.get("/api/results").json().at("results")[0].at("id");
    const Reply view = client.get("/api/results/" + id + "/view");
    REQUIRE(view.status == 200);
    CHECK(view.json().at("width") ==
          files::read_picture(results / "moon.tif").picture.size().width_px);
    CHECK(view.json().at("levels") == 2);
    const Reply tile = client.get("/api/results/" + id + "/tiles/1/1/0");
    CHECK(tile.status == 200);
    CHECK(tile.headers.at("content-type") == "image/jpeg");
    CHECK(tile.body.starts_with("\xFF\xD8\xFF"));
    CHECK(client.get("/api/results/" + id + "/tiles/1/2/0").status == 404);
    CHECK(client.get("/api/results/" + id + "/tiles/x/0/0").status == 400);
    CHECK(client.get("/api/results/" + id + "/tiles/99999999999999999999/0/0").status == 400);
    CHECK(client.get("/api/results/none/view").status == 404);
    fs::remove(results / "moon.tif");
    CHECK(client.get("/api/results/" + id + "/view").status == 404);
  }
}

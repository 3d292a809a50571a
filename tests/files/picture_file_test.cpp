#include "files/picture_file.h"

#include <doctest/doctest.h>
#include <tiffio.h>

#include <algorithm>
#include <cmath>
#include <filesystem>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/fits.h"
#include "support/bytes.h"
#include "support/pictures.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

using namespace lull;
using namespace lull::files;
using test::contains;

namespace {

void write_with_others(const std::string& kind, const std::filesystem::path& file,
                       const std::filesystem::path& raw) {
  const test::Run ran = test::run_pictures({"write", kind, file.string(), raw.string()});
  CAPTURE(ran.text());
  REQUIRE(ran.status == 0);
}

template <class T>
std::vector<float> as_light(const std::filesystem::path& raw, double full_scale) {
  std::vector<float> light;
  for (const T value : test::values_of<T>(raw)) {
    light.push_back(static_cast<float>(static_cast<double>(value) / full_scale));
  }
  return light;
}

double largest_difference(const std::vector<float>& a, const std::vector<float>& b) {
  REQUIRE(a.size() == b.size());
  double largest = 0;
  for (std::size_t i = 0; i < a.size(); ++i) {
    largest = std::max(largest, std::abs(static_cast<double>(a[i]) - static_cast<double>(b[i])));
  }
  return largest;
}

std::string read_message(const std::filesystem::path& path) {
  return test::message_of<InputError>([&] { (void)read_picture(path); });
}

std::string message_for_kind(const test::TemporaryFolder& folder, const std::string& kind) {
  write_with_others(kind, folder / "f", folder / "raw");
  return read_message(folder / "f");
}

struct Kind {
  const char* name;
  double full_scale;
  int bits;
  std::size_t channels;
};

}  // namespace

TEST_SUITE("files/picture_file") {
  TEST_CASE("the format follows from the name") {
    CHECK(format_of("a.tif") == Format::tiff);
    CHECK(format_of("b.c/a.TIFF") == Format::tiff);
    CHECK(format_of("a.Png") == Format::png);
    CHECK(format_of("a.fit") == Format::fits);
    CHECK(format_of("a.linear.fits") == Format::fits);
    for (const char* name : {"a.jpg", "a", "tif", ".tif", "a.tif/", ""}) {
      CAPTURE(name);
      const std::string message = test::message_of<UsageError>([&] { (void)format_of(name); });
      CHECK(contains(message, ".tif, .tiff, .png, .fits or .fit"));
    }
  }

  TEST_CASE("integers written by tifffile, OpenCV and astropy are read to a float's precision") {
    const Kind kinds[] = {{"tiff-grey8", 255, 8, 1},
                          {"tiff-whiteiszero8", 255, 8, 1},
                          {"tiff-bigendian-rgb16", 65535, 16, 3},
                          {"tiff-rgba16", 65535, 16, 3},
                          {"tiff-planar-rgb16", 65535, 16, 3},
                          {"tiff-tiled", 65535, 16, 1},
                          {"tiff-tiled-big-rgb8", 255, 8, 3},
                          {"tiff-tiled-planar-rgb16", 65535, 16, 3},
                          {"png-grey8", 255, 8, 1},
                          {"png-grey16", 65535, 16, 1},
                          {"png-rgb8", 255, 8, 3},
                          {"png-rgb16", 65535, 16, 3},
                          {"png-rgba8", 255, 8, 3},
                          {"png-rgba16", 65535, 16, 3},
                          {"fits-u8", 255, 8, 1},
                          {"fits-u16", 65535, 16, 1}};
    const test::TemporaryFolder folder;
    for (const Kind& kind : kinds) {
      CAPTURE(kind.name);
      std::filesystem::remove(folder / "f");
      write_with_others(kind.name, folder / "f", folder / "raw");
      const PictureFile file = read_picture(folder / "f");
      CHECK(file.bits_per_sample == kind.bits);
      CHECK_FALSE(file.floating_point);
      CHECK(file.picture.size() == Size{53, 37});
      REQUIRE(file.picture.channels.size() == kind.channels);
      const std::vector<float> expected = kind.bits == 8
                                              ? as_light<std::uint8_t>(folder / "raw", 255)
                                              : as_light<std::uint16_t>(folder / "raw", 65535);
      // Half a unit in the last place of a float near 1, twice (one more subtraction for inverted).
      CHECK(largest_difference(test::samples_of(file.picture), expected) <= 1.2e-7);
    }
    std::filesystem::remove(folder / "f");
    write_with_others("fits-i16", folder / "f", folder / "raw");
    CHECK(largest_difference(test::samples_of(read_picture(folder / "f").picture),
                             as_light<std::int16_t>(folder / "raw", 32767)) <= 1.2e-7);
  }

  TEST_CASE("floats written by tifffile and astropy are read exactly, the first image of many") {
    for (const char* kind : {"tiff-float", "fits-second-unit", "fits-rgb-double"}) {
      CAPTURE(kind);
      const test::TemporaryFolder folder;
      write_with_others(kind, folder / "f", folder / "raw");
      const PictureFile file = read_picture(folder / "f");
      CHECK(file.floating_point);
      CHECK(test::samples_of(file.picture) == test::values_of<float>(folder / "raw"));
    }
  }

  TEST_CASE("what is written is read back, floats exactly, 16 bits to half a step") {
    const test::TemporaryFolder folder;
    for (const int channels : {1, 3}) {
      const Picture picture = test::seeded_picture({61, 47}, channels, 3);
      const std::vector<float> samples = test::samples_of(picture);
      write_picture(folder / "a.fits", picture.view(), {}, test::sample_metadata());
      CHECK(test::samples_of(read_picture(folder / "a.fits").picture) == samples);
      for (const char* name : {"a.tif", "a.png"}) {
        CAPTURE(name);
        write_picture(folder / name, picture.view(), {}, test::sample_metadata());
        std::vector<float> clamped = samples;
        for (float& sample : clamped) sample = std::clamp(sample, 0.0F, 1.0F);
        CHECK(largest_difference(test::samples_of(read_picture(folder / name).picture), clamped) <=
              0.5 / 65535.0 + 1e-7);
      }
    }
  }

  TEST_CASE("what cannot be used is refused with its reason") {
    const test::TemporaryFolder folder;
    CHECK(contains(message_for_kind(folder, "tiff-nan"),
                   "2 of its samples are not finite numbers, the first at column 7, row 5"));
    CHECK(contains(message_for_kind(folder, "tiff-int32"), "32 bits"));
    CHECK(contains(message_for_kind(folder, "tiff-large-tiles"), "tiles of 8192 x 16 pixels"));
    std::filesystem::remove(folder / "f");
    CHECK(contains(message_for_kind(folder, "fits-cube5"), "NAXIS3"));
    std::filesystem::remove(folder / "f");
    CHECK(contains(message_for_kind(folder, "fits-i32"), "integers of 32 bits"));
    std::filesystem::remove(folder / "f");
    CHECK(contains(message_for_kind(folder, "fits-empty"), "holds no image"));
    write_file(folder / "text", "hello");
    CHECK(contains(read_message(folder / "text"), "not a TIFF, PNG or FITS"));
    // The markers that begin a JPEG file: JFIF 1.02 (ITU-T T.871, section 10.1).
    write_file(folder / "jpeg", std::string("\xFF\xD8\xFF\xE0\0\x10JFIF", 10));
    CHECK(contains(read_message(folder / "jpeg"), "it is a JPEG, of 8 bits"));
    write_file(folder / "empty", "");
    CHECK(contains(read_message(folder / "empty"), "not a TIFF, PNG or FITS"));
    CHECK(contains(read_message(folder / "none"), "there is no such file"));
    CHECK(contains(read_message(folder.path()), "it is a folder"));
  }

  TEST_CASE("files cut short, or overwritten inside, are refused, never read as if whole") {
    const test::TemporaryFolder folder;
    const Picture picture = test::seeded_picture({120, 90}, 3, 5);
    for (const char* name : {"a.tif", "a.png", "a.fits"}) {
      write_picture(folder / name, picture.view(), {}, {});
      const std::string whole = test::text_of(folder / name);
      for (const double part : {0.001, 0.1, 0.5, 0.9}) {
        CAPTURE(name);
        CAPTURE(part);
        const auto bytes = static_cast<std::size_t>(part * static_cast<double>(whole.size()));
        write_file(folder / "cut", whole.substr(0, bytes));
        CHECK(contains(read_message(folder / "cut"), "cannot read"));
      }
      if (std::string(name) == "a.fits") continue;  // raw floats: any bytes are samples
      std::string overwritten = whole;
      overwritten.replace(whole.size() / 2, 64, std::string(64, '\xFF'));
      write_file(folder / "overwritten", overwritten);
      CHECK(contains(read_message(folder / "overwritten"), "damaged"));
    }
  }

  TEST_CASE("headers that ask for all memory are refused") {
    const test::TemporaryFolder folder;
    TIFF* tiff = TIFFOpen((folder / "huge.tif").c_str(), "w");
    REQUIRE(tiff != nullptr);
    TIFFSetField(tiff, TIFFTAG_IMAGEWIDTH, 60000);
    TIFFSetField(tiff, TIFFTAG_IMAGELENGTH, 60000);
    TIFFSetField(tiff, TIFFTAG_BITSPERSAMPLE, 8);
    TIFFSetField(tiff, TIFFTAG_SAMPLESPERPIXEL, 1);
    TIFFSetField(tiff, TIFFTAG_PHOTOMETRIC, PHOTOMETRIC_MINISBLACK);
    TIFFSetField(tiff, TIFFTAG_ROWSPERSTRIP, 1);
    std::vector<std::uint8_t> row(60000);
    TIFFWriteScanline(tiff, row.data(), 0, 0);
    TIFFClose(tiff);
    CHECK(contains(read_message(folder / "huge.tif"), "60000 x 60000 pixels are more"));

    // IHDR of 60000 x 60000, 16-bit RGB, with its CRC (PNG 1.2, section 4.1.1).
    const char header[] =
        "\x89PNG\r\n\x1a\n\0\0\0\rIHDR\0\0\xEA\x60\0\0\xEA\x60\x10\x02\0\0\0"
        "\x5F\x20\x3E\x56"
        "\0\0\0\0IDAT";
    const std::string png(header, sizeof(header) - 1);
    write_file(folder / "huge.png", png);
    CHECK(contains(read_message(folder / "huge.png"), "60000 x 60000 pixels are more"));

    std::string fits;
    for (const char* text : {"SIMPLE  =                    T", "BITPIX  =                  -32",
                             "NAXIS   =                    2", "NAXIS1  =               100000",
                             "NAXIS2  =               100000", "END"}) {
      std::string line = text;
      line.resize(80, ' ');
      fits += line;
    }
    fits.resize(5760, ' ');  // two blocks of 2880
    write_file(folder / "huge.fits", fits);
    CHECK(contains(read_message(folder / "huge.fits"), "100000 x 100000 pixels are more"));
  }
}

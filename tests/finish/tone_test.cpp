#include "finish/tone.h"

#include <doctest/doctest.h>
#include <lcms2.h>

#include <array>
#include <cmath>
#include <memory>

#include "core/srgb.h"
#include "files/icc.h"

using namespace lull;

namespace {

std::vector<Plane> pixel(std::initializer_list<float> values) {
  std::vector<Plane> picture;
  for (const float value : values) {
    picture.emplace_back(1, 1);
    picture.back().row(0)[0] = value;
  }
  return picture;
}

double value_of(const std::vector<Plane>& picture, std::size_t channel = 0) {
  return static_cast<double>(picture[channel].row(0)[0]);
}

// Light that a colour management system takes a value for that is tagged with our profile.
class Judge {
 public:
  explicit Judge(int channels) {
    const auto bytes = files::srgb_profile(channels);
    cmsHPROFILE from =
        cmsOpenProfileFromMem(bytes.data(), static_cast<cmsUInt32Number>(bytes.size()));
    REQUIRE(from != nullptr);
    cmsHPROFILE to = cmsCreateXYZProfile();
    transform_ =
        cmsCreateTransform(from, channels == 3 ? TYPE_RGB_DBL : TYPE_GRAY_DBL, to, TYPE_XYZ_DBL,
                           INTENT_RELATIVE_COLORIMETRIC, cmsFLAGS_NOOPTIMIZE);
    REQUIRE(transform_ != nullptr);
    cmsCloseProfile(from);
    cmsCloseProfile(to);
  }

  ~Judge() { cmsDeleteTransform(transform_); }

  Judge(const Judge&) = delete;
  Judge& operator=(const Judge&) = delete;

  [[nodiscard]] double light(double value) const {
    const std::array<double, 3> in = {value, value, value};
    std::array<double, 3> xyz{};
    cmsDoTransform(transform_, in.data(), xyz.data(), 1);
    return xyz[1];
  }

 private:
  cmsHTRANSFORM transform_ = nullptr;
};

}  // namespace

TEST_SUITE("finish/tone") {
  TEST_CASE("Little CMS gets the light back from such values through our profile") {
    for (const int channels : {1, 3}) {
      const Judge judge(channels);
      for (int step = 0; step <= 64; ++step) {
        const double light = step / 64.0;
        CAPTURE(channels);
        CAPTURE(light);
        CHECK(std::abs(judge.light(srgb::from_light(light)) - light) < 3e-4);
      }
      CHECK(files::is_stretched(files::srgb_profile(channels)));
      CHECK(files::srgb_profile(channels) == files::srgb_profile(channels));
    }
  }

  TEST_CASE("a profile with a linear curve is recognised") {
    cmsToneCurve* straight = cmsBuildGamma(nullptr, 1.0);
    cmsHPROFILE profile = cmsCreateGrayProfile(cmsD50_xyY(), straight);
    std::vector<std::byte> bytes(4000);
    auto size = static_cast<cmsUInt32Number>(bytes.size());
    REQUIRE(cmsSaveProfileToMem(profile, bytes.data(), &size) != 0);
    bytes.resize(size);
    CHECK_FALSE(files::is_stretched(bytes));
    CHECK(files::is_stretched(std::vector<std::byte>(50)));
    cmsCloseProfile(profile);
    cmsFreeToneCurve(straight);
  }

  TEST_CASE("black and white move the curve, what lies outside is cut") {
    auto picture = pixel({0.3F, 0.05F, 0.9F});
    finish::apply_tone(picture, finish::Tone::gamma, {0.1, 0.5});
    CHECK(value_of(picture, 0) == doctest::Approx(0.735357).epsilon(1e-5));  // half way
    CHECK(value_of(picture, 1) == 0);
    CHECK(value_of(picture, 2) == 1);
  }

  TEST_CASE("what is not a number is black") {
    for (const finish::Tone tone : {finish::Tone::gamma, finish::Tone::asinh}) {
      std::vector<Plane> picture = pixel({std::nanf(""), 0.25F, 1e38F});
      finish::apply_tone(picture, tone, {0, 1});
      CHECK(value_of(picture, 0) == 0);
      CHECK(value_of(picture, 1) > 0);
      CHECK(value_of(picture, 2) <= 1);
    }
  }

  TEST_CASE("asinh lifts the faint, and keeps colours: Lupton et al. 2004") {
    // asinh(10 x 0.1) / asinh(10) = 0.881374 / 2.998223.
    auto gray = pixel({0.1F});
    finish::apply_tone(gray, finish::Tone::asinh, {0, 1});
    CHECK(value_of(gray) == doctest::Approx(0.293966).epsilon(1e-5));
    auto colour = pixel({0.2F, 0.1F, 0.05F});
    finish::apply_tone(colour, finish::Tone::asinh, {0, 1});
    CHECK(value_of(colour, 0) / value_of(colour, 1) == doctest::Approx(2));
    CHECK(value_of(colour, 1) / value_of(colour, 2) == doctest::Approx(2));
    auto bright = pixel({1.0F, 0.1F, 0.0F});
    finish::apply_tone(bright, finish::Tone::asinh, {0, 1});
    CHECK(value_of(bright, 0) == doctest::Approx(1));
    CHECK(value_of(bright, 1) == doctest::Approx(0.1));
  }

  TEST_CASE("saturation keeps the luminance of IEC 61966-2-1") {
    const auto luminance = [](const std::vector<Plane>& p) {
      return 0.2126 * value_of(p, 0) + 0.7152 * value_of(p, 1) + 0.0722 * value_of(p, 2);
    };
    for (const double factor : {0.0, 0.5, 1.0, 2.0}) {
      auto picture = pixel({0.4F, 0.3F, 0.2F});
      const double before = luminance(picture);
      finish::saturate(picture, factor);
      CHECK(luminance(picture) == doctest::Approx(before).epsilon(1e-6));
      CHECK(value_of(picture, 0) - value_of(picture, 2) ==
            doctest::Approx(0.2 * factor).epsilon(1e-5));
    }
  }
}

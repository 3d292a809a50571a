#include "files/icc.h"

#include <lcms2.h>

#include <algorithm>
#include <array>
#include <memory>
#include <new>

#include "core/assert.h"
#include "core/srgb.h"

namespace lull::files {

namespace {

struct CloseProfile {
  void operator()(void* profile) const { cmsCloseProfile(profile); }
};

using Profile = std::unique_ptr<void, CloseProfile>;

struct FreeCurve {
  void operator()(cmsToneCurve* curve) const { cmsFreeToneCurve(curve); }
};

using Curve = std::unique_ptr<cmsToneCurve, FreeCurve>;

// The inverse of srgb::from_light().
Curve srgb_curve() {
  constexpr double kWhole = 1 + srgb::kOffset;
  const std::array<double, 5> parameters = {srgb::kPower, 1 / kWhole, srgb::kOffset / kWhole,
                                            1 / srgb::kSlope, srgb::kLinearValue};
  return Curve(cmsBuildParametricToneCurve(nullptr, 4, parameters.data()));
}

Profile make_profile(int channels) {
  if (channels == 3) return Profile(cmsCreate_sRGBProfile());
  const Curve curve = srgb_curve();
  return Profile(cmsCreateGrayProfile(cmsD50_xyY(), curve.get()));
}

// Bytes 24 to 35 of the header are the moment of its making (ICC.1:2010, 7.2), six big-endian
// 16-bit numbers; equal runs shall give equal files.
void fix_date(std::vector<std::byte>& profile) {
  constexpr std::array<unsigned char, 12> kDate = {0x07, 0xCF, 0, 1, 0, 1, 0, 0, 0, 0, 0, 0};
  std::transform(kDate.begin(), kDate.end(), profile.begin() + 24,
                 [](unsigned char c) { return std::byte{c}; });
}

}  // namespace

std::vector<std::byte> srgb_profile(int channels) {
  LULL_ASSERT(channels == 1 || channels == 3);
  const Profile profile = make_profile(channels);
  cmsUInt32Number size = 0;
  if (!profile || cmsSaveProfileToMem(profile.get(), nullptr, &size) == 0) throw std::bad_alloc();
  std::vector<std::byte> bytes(size);
  if (cmsSaveProfileToMem(profile.get(), bytes.data(), &size) == 0) throw std::bad_alloc();
  fix_date(bytes);
  return bytes;
}

bool is_stretched(std::span<const std::byte> bytes) {
  const Profile profile(
      cmsOpenProfileFromMem(bytes.data(), static_cast<cmsUInt32Number>(bytes.size())));
  if (!profile) return true;
  for (const cmsTagSignature tag : {cmsSigGrayTRCTag, cmsSigGreenTRCTag}) {
    const void* curve = cmsReadTag(profile.get(), tag);
    if (curve != nullptr) return cmsIsToneCurveLinear(static_cast<const cmsToneCurve*>(curve)) == 0;
  }
  return true;
}

}  // namespace lull::files

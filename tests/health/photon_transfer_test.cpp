#include "health/photon_transfer.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <random>

#include "support/frames.h"
#include "support/memory_capture.h"

namespace {

using namespace lull;
using health::PhotonTransferCounts;

// A scene with hills and a fixed pattern that moves by half a pixel a frame, counted by a sensor of
// known gain and read noise. Photons: Poisson, so variance equals mean (Janesick 2007).
std::vector<capture::Frame> counted(double gain_e_per_adu, double read_e, int frames, bool smooth,
                                    int width = 128, int height = 96) {
  std::mt19937 random(20240818);
  std::vector<capture::Frame> out;
  for (int i = 0; i < frames; ++i) {
    const auto adu = [&](int x, int y) {
      const double wave = std::sin((x + 0.5 * i) / 9) * std::cos((y - 0.3 * i) / 11);
      const double electrons =
          gain_e_per_adu * (1200 + 1000 * wave) * (1 + 0.02 * std::sin(17.0 * x + 5.0 * y));
      std::poisson_distribution<int> photons(electrons);
      std::normal_distribution<double> read(0, read_e);
      return std::round((photons(random) + read(random)) / gain_e_per_adu + 50);
    };
    std::vector<double> values;
    for (int y = 0; y < height; ++y) {
      for (int x = 0; x < width; ++x) values.push_back(adu(x, y));
    }
    out.push_back(test::frame_of(
        {width, height},
        [&](int x, int y) {
          const auto at = [&](int dx) {
            return values[static_cast<std::size_t>(std::ptrdiff_t{width} * y +
                                                   std::min(x + dx, width - 1))];
          };
          return smooth ? std::round((at(0) + at(1)) / 2) : at(0);
        },
        i));
  }
  return out;
}

std::optional<health::PhotonTransfer> transfer_of(const std::vector<capture::Frame>& frames,
                                                  const capture::CaptureInfo& info) {
  PhotonTransferCounts counts(info);
  std::vector<PhotonTransferCounts::Pair> pairs;
  for (std::size_t i = 1; i < frames.size(); ++i) pairs.push_back({&frames[i - 1], &frames[i]});
  counts.add(pairs);
  return counts.result();
}

}  // namespace

TEST_SUITE("health/photon_transfer") {
  TEST_CASE("the gain of a moving scene is found to 3%, within its stated error") {
    for (const double gain : {0.5, 2.0, 6.0}) {
      CAPTURE(gain);
      const auto transfer =
          transfer_of(counted(gain, 3, 100, false), test::mono_info({128, 96}, 12));
      REQUIRE(transfer);
      REQUIRE(transfer->gain_e_per_adu);
      CHECK(std::abs(*transfer->gain_e_per_adu / gain - 1) < 0.03);
      CHECK(std::abs(*transfer->gain_e_per_adu / gain - 1) < 3 * transfer->gain_error);
      CHECK(transfer->gain_error < 0.04);
      CHECK(std::abs(transfer->whiteness - 1) < 0.05);
      // Variance at a level: signal / gain + (read / gain)^2 + 1/12 of rounding; offset 50.
      for (const auto& point : transfer->points) {
        const double expected = (point.level_adu - 50) / gain + 9 / gain / gain + 1.0 / 12;
        if (point.samples > 1000) CHECK(std::abs(point.variance_adu2 / expected - 1) < 0.15);
      }
    }
  }

  TEST_CASE("a mosaic is compared with samples of its own colour only") {
    auto info = test::mono_info({256, 192}, 12);
    info.colour = capture::Colour::cfa;
    info.cfa = capture::Cfa::rggb;
    const auto frames = counted(2, 3, 40, false, 256, 192);
    const auto transfer = transfer_of(frames, info);
    REQUIRE(transfer);
    REQUIRE(transfer->gain_e_per_adu);
    CHECK(std::abs(*transfer->gain_e_per_adu / 2 - 1) < 0.06);
  }

  TEST_CASE("noise that was smoothed is not white") {
    // Mean of two neighbours: [1 -2 1] keeps 2/(4 * 1.5) = 1/3 of its variance, [1 -1] a half.
    const auto transfer = transfer_of(counted(0.5, 3, 20, true), test::mono_info({128, 96}, 12));
    REQUIRE(transfer);
    CHECK(std::abs(transfer->whiteness - 2.0 / 3) < 0.05);
    CHECK(!transfer->white());
  }

  TEST_CASE("frames without pairs give no result") {
    CHECK(!transfer_of(counted(2, 3, 1, false), test::mono_info({128, 96}, 12)));
  }
}

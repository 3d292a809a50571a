#include "quality/combined.h"

#include <doctest/doctest.h>

#include <cmath>
#include <random>

#include "quality/agreement.h"

namespace {

using namespace lull;
using quality::CombinedSharpness;
using quality::FrameEnergies;
using quality::FrameRecord;

constexpr CombinedSharpness::Gains kGains = {0, 0, 0};  // no noise

FrameRecord record_of(double noise, bool usable = true) {
  FrameRecord record;
  record.noise = noise;
  if (!usable) record.reject = Reject::black;
  return record;
}

// What a measure adds to the sharpness of a frame by itself, and what its noise comes to.
struct Band {
  double error;         // standard deviation, of the swing of sharpness
  double noise_energy;  // of the swing
};

struct Capture {
  std::vector<double> truth;
  std::vector<FrameEnergies> frames;
};

Capture capture_of(const std::array<Band, 3>& bands, int count = 400) {
  std::mt19937 random(3);
  std::normal_distribution<double> normal;
  Capture capture;
  for (int i = 0; i < count; ++i) {
    capture.truth.push_back(normal(random));
    FrameEnergies frame;
    frame.noise = 1;
    frame.of_unit_noise = 1;
    for (std::size_t m = 0; m < bands.size(); ++m) {
      const double above = 10 + capture.truth.back() + bands[m].error * normal(random);
      frame.total[m] = above + bands[m].noise_energy;
    }
    capture.frames.push_back(frame);
  }
  return capture;
}

double rho(const Capture& capture, const std::vector<double>& values) {
  return quality::spearman(values, capture.truth);
}

CombinedSharpness::Gains gains_of(const std::array<Band, 3>& bands) {
  return {bands[0].noise_energy, bands[1].noise_energy, bands[2].noise_energy};
}

// What the constructor takes.
std::vector<const FrameEnergies*> all_of(const Capture& capture) {
  std::vector<const FrameEnergies*> out;
  for (const FrameEnergies& frame : capture.frames) out.push_back(&frame);
  return out;
}

std::vector<double> values_of(const CombinedSharpness& sharpness, const Capture& capture) {
  std::vector<double> out;
  for (const FrameEnergies& frame : capture.frames) out.push_back(sharpness(frame));
  return out;
}

}  // namespace

TEST_SUITE("quality/combined") {
  TEST_CASE("the noise is that of the frames around: a step stays, an outlier goes") {
    std::vector<FrameRecord> records;
    records.reserve(300);
    for (int i = 0; i < 300; ++i) records.push_back(record_of(i < 150 ? 1 : 3));
    records[40] = record_of(9);
    records[41] = record_of(7, false);
    const auto noise = quality::usual_noise(records);
    REQUIRE(noise.size() == 300);
    CHECK(noise[0] == 1);
    CHECK(noise[40] == 1);
    CHECK(noise[41] == 7);  // not usable: as it is
    // The window of 101 frames is half before, half after, so the step stays where it was.
    CHECK(noise[149] == 1);
    CHECK(noise[150] == 3);
    CHECK(noise[299] == 3);
  }

  TEST_CASE("shares follow from the errors that are written down") {
    // Where nothing but the own error counts, they are as 1 : 1/3 : 1/9.
    const Capture quiet = capture_of({{{0, 0}, {0, 0}, {0, 0}}});
    const auto shares = CombinedSharpness(all_of(quiet), kGains, quality::Metric::fine).shares();
    CHECK(shares[0] == doctest::Approx(9.0 / 13));
    CHECK(shares[1] == doctest::Approx(3.0 / 13));
    CHECK(shares[2] == doctest::Approx(1.0 / 13));
    // Noise whose energy is 8 swings has the square error 16.02: 1 / 16.02 to 1 / 0.06 and 1 /
    // 0.18.
    Capture noisy = capture_of({{{0, 0}, {0, 0}, {0, 0}}});
    double swing = 0;
    {
      std::vector<double> deviations;
      std::vector<double> truth = noisy.truth;
      std::nth_element(truth.begin(), truth.begin() + 200, truth.end());
      const double median = truth[200];
      for (const double value : noisy.truth) deviations.push_back(std::abs(value - median));
      std::nth_element(deviations.begin(), deviations.begin() + 200, deviations.end());
      swing = 1.4826 * deviations[200];
    }
    for (FrameEnergies& frame : noisy.frames) frame.total[0] += 8 * swing;
    const auto other =
        CombinedSharpness(all_of(noisy), {8 * swing, 0, 0}, quality::Metric::fine).shares();
    CHECK(other[1] / other[0] == doctest::Approx(16.02 / 0.06).epsilon(0.05));
    CHECK(other[1] / other[2] == doctest::Approx(3));
  }

  TEST_CASE("a measure that the noise or its own ways rule hardly counts") {
    const Capture own_ways = capture_of({{{3, 0}, {0.1, 0}, {0.1, 0}}});
    CHECK(CombinedSharpness(all_of(own_ways), kGains, quality::Metric::fine).shares()[0] < 0.02);
    const std::array<Band, 3> bands = {{{0.1, 40}, {0.1, 0}, {0.1, 0}}};
    const Capture noisy = capture_of(bands);
    CHECK(CombinedSharpness(all_of(noisy), gains_of(bands), quality::Metric::fine).shares()[0] <
          0.001);
  }

  TEST_CASE("together they follow the truth better than the best alone, or nearly as well") {
    const std::array<Band, 3> captures[] = {
        {{{0.1, 0.5}, {0.2, 0.1}, {0.4, 0}}},
        {{{3, 20}, {0.4, 2}, {0.3, 0.1}}},  // the finest follows noise
        {{{0.3, 1}, {0.3, 0.3}, {0.3, 0.1}}}};
    for (const auto& bands : captures) {
      const Capture capture = capture_of(bands);
      double best = 0;
      for (std::size_t m = 0; m < bands.size(); ++m) {
        std::vector<double> alone;
        for (const FrameEnergies& frame : capture.frames) alone.push_back(frame.total[m]);
        best = std::max(best, rho(capture, alone));
      }
      const CombinedSharpness sharpness(all_of(capture), gains_of(bands), quality::Metric::coarse);
      CHECK(rho(capture, values_of(sharpness, capture)) > best - 0.01);
    }
  }

  TEST_CASE("values are energies of the measure asked for; noise that one frame has is taken off") {
    Capture capture = capture_of({{{0, 0}, {0, 0}, {0, 0}}});
    for (FrameEnergies& frame : capture.frames) frame.total[2] *= 5;
    for (FrameEnergies& frame : capture.frames) {
      for (double& total : frame.total) total += 0.5;
    }
    const CombinedSharpness sharpness(all_of(capture), {0.5, 0.5, 0.5}, quality::Metric::coarse);
    CHECK(sharpness(capture.frames[0]) ==
          doctest::Approx(capture.frames[0].total[2] - 0.5).epsilon(1e-9));
    const CombinedSharpness as_fine(all_of(capture), {0.5, 0.5, 0.5}, quality::Metric::fine);
    CHECK(as_fine(capture.frames[0]) ==
          doctest::Approx(capture.frames[0].total[1] - 0.5).epsilon(1e-9));
    FrameEnergies noisier = capture.frames[0];
    noisier.noise = 2;  // four times the energy
    for (double& total : noisier.total) total += 3 * 0.5;
    CHECK(sharpness(noisier) == doctest::Approx(sharpness(capture.frames[0])).epsilon(1e-9));
  }

  TEST_CASE(
      "what one measure alone sees, such as the edge of a roof, does not make a frame sharp") {
    Capture capture = capture_of({{{0.1, 0}, {0.1, 0}, {0.1, 0}}});
    capture.frames[7].total[2] += 100;
    const CombinedSharpness sharpness(all_of(capture), kGains, quality::Metric::fine);
    FrameEnergies without = capture.frames[7];
    without.total[2] -= 100;
    CHECK(sharpness.shares()[2] > 0.05);
    CHECK(sharpness(capture.frames[7]) < sharpness(without) + 0.5);
  }

  TEST_CASE("frames that are all alike have the energy of the measure asked for") {
    Capture capture = capture_of({{{0, 0}, {0, 0}, {0, 0}}}, 10);
    for (FrameEnergies& frame : capture.frames) frame = capture.frames[0];
    const CombinedSharpness sharpness(all_of(capture), kGains, quality::Metric::fine);
    CHECK(sharpness(capture.frames[3]) == doctest::Approx(capture.frames[0].total[1]));
    CHECK(sharpness.shares()[1] == 1);
    CHECK(CombinedSharpness({}, kGains, quality::Metric::fine).shares()[1] == 1);
  }

  TEST_CASE("shares in words") {
    CHECK(quality::shares_text({0.618, 0.302, 0.08}) == "finest 62%, fine 30%, coarse 8%");
  }
}

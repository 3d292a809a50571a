#include "lab/air.h"

#include <doctest/doctest.h>

#include <array>
#include <cmath>
#include <complex>
#include <numbers>

#include "lab/mount.h"
#include "lab/pupil.h"
#include "lab/screen.h"

using lull::lab::PhaseScreen;
using lull::lab::Pupil;

namespace {

struct Estimate {
  double mean = 0;
  double standard_error = 0;
};

Estimate estimate(const std::vector<double>& values) {
  Estimate e;
  const double n = static_cast<double>(values.size());
  for (const double v : values) e.mean += v / n;
  double sum = 0;
  for (const double v : values) sum += (v - e.mean) * (v - e.mean);
  e.standard_error = std::sqrt(sum / (n - 1) / n);
  return e;
}

// Mean square difference of the phase at a distance, over one screen.
double structure(const PhaseScreen& screen, int side, double distance) {
  double sum = 0;
  int count = 0;
  for (int y = 0; y < side; y += side / 16) {
    for (int x = 0; x < side; x += side / 16) {
      for (const bool along : {false, true}) {
        const double d =
            screen.at(x, y) - screen.at(along ? x + distance : x, along ? y : y + distance);
        sum += d * d;
        ++count;
      }
    }
  }
  return sum / count;
}

/// One estimate a distance, all from the same screens.
std::vector<Estimate> structure_over_screens(int screens, int side, double r0, double outer,
                                             const std::vector<double>& distances) {
  std::vector<std::vector<double>> values(distances.size());
  for (int i = 0; i < screens; ++i) {
    const PhaseScreen screen(side, r0, outer, 100, static_cast<std::uint64_t>(i));
    for (std::size_t d = 0; d < distances.size(); ++d) {
      values[d].push_back(structure(screen, side, distances[d]));
    }
  }
  std::vector<Estimate> estimates;
  estimates.reserve(values.size());
  for (const auto& of_distance : values) estimates.push_back(estimate(of_distance));
  return estimates;
}

// Coefficients of Noll's modes 1 ... count of a phase over a clear pupil, and its mean square.
struct Modes {
  std::vector<double> coefficients;
  double mean_square = 0;

  // Variance that is left after the first `modes` modes.
  [[nodiscard]] double residual(std::size_t modes) const {
    double left = mean_square;
    for (std::size_t j = 0; j < modes; ++j) left -= coefficients[j] * coefficients[j];
    return left;
  }
};

class ModeFinder {
 public:
  ModeFinder(const Pupil& pupil, int modes) : pupil_(pupil) {
    const double radius = pupil.diameter_steps / 2;
    for (int j = 1; j <= modes; ++j) {
      std::vector<double> basis;
      for (const Pupil::Point& p : pupil.points)
        basis.push_back(lull::lab::zernike(j, p.x / radius, p.y / radius));
      make_orthonormal(basis);
      basis_.push_back(basis);
    }
  }

  [[nodiscard]] Modes of(const std::vector<float>& phase) const {
    Modes out;
    for (std::size_t k = 0; k < phase.size(); ++k)
      out.mean_square += weight() * static_cast<double>(phase[k]) * static_cast<double>(phase[k]);
    for (const auto& basis : basis_) {
      double sum = 0;
      for (std::size_t k = 0; k < phase.size(); ++k)
        sum += weight() * basis[k] * static_cast<double>(phase[k]);
      out.coefficients.push_back(sum);
    }
    return out;
  }

 private:
  // On a grid the polynomials are not quite orthogonal (Gram-Schmidt).
  void make_orthonormal(std::vector<double>& basis) const {
    const auto product = [&](const std::vector<double>& a, const std::vector<double>& b) {
      double sum = 0;
      for (std::size_t k = 0; k < a.size(); ++k) sum += weight() * a[k] * b[k];
      return sum;
    };
    for (const auto& other : basis_) {
      const double share = product(basis, other);
      for (std::size_t k = 0; k < basis.size(); ++k) basis[k] -= share * other[k];
    }
    const double norm = std::sqrt(product(basis, basis));
    for (double& value : basis) value /= norm;
  }

  [[nodiscard]] double weight() const { return 1 / static_cast<double>(pupil_.points.size()); }

  const Pupil& pupil_;
  std::vector<std::vector<double>> basis_;
};

// Phases over a pupil of 32 steps at D/r0 = 1, Kolmogorov, at places that hardly know of each
// other.
std::vector<Modes> many_modes(int screens, int modes) {
  constexpr int kSide = 1024;
  const Pupil pupil(64, 0.5, 0);
  const ModeFinder finder(pupil, modes);
  std::vector<Modes> out;
  for (int i = 0; i < screens; ++i) {
    const PhaseScreen screen(kSide, pupil.diameter_steps, 0, 200, static_cast<std::uint64_t>(i));
    for (int y = 0; y < kSide; y += 64) {
      for (int x = 0; x < kSide; x += 64) {
        std::vector<float> phase(pupil.points.size());
        screen.add(screen.around(x, y), 0, 0, 1, pupil, 1, phase);
        out.push_back(finder.of(phase));
      }
    }
  }
  return out;
}

}  // namespace

TEST_SUITE("lab/screen") {
  // Kolmogorov structure function 6.88 (r / r0)^(5/3): Fried 1966, Journal of the Optical Society
  // of America 56, 1372.
  TEST_CASE("phase differences follow 6.88 (r / r0)^(5/3)") {
    const std::vector<double> distances = {6.0, 16.0, 40.0};
    const auto all = structure_over_screens(60, 256, 8, 0, distances);
    for (std::size_t i = 0; i < distances.size(); ++i) {
      const double distance = distances[i];
      CAPTURE(distance);
      const Estimate& found = all[i];
      const double theory = 6.88 * std::pow(distance / 8, 5.0 / 3);
      CAPTURE(found.mean / theory);
      // 3%: what three rings of subharmonics and the grid leave out.
      CHECK(std::abs(found.mean - theory) < 3 * found.standard_error + 0.03 * theory);
    }
  }

  // von Karman: D = 0.172629 (L0/r0)^(5/3) {1 - 2^(1/6)/Gamma(5/6) x^(5/6) K_5/6(x)}, x = 2 pi
  // r/L0; r0 = 0.1 m, L0 = 20 m, computed from the formula.
  TEST_CASE("an outer scale bounds them as in von Karman's spectrum") {
    constexpr double kStepsPerM = 40;

    struct Row {
      double distance_m;
      double structure;
    };

    const std::vector<Row> rows = {{0.1, 5.1366}, {0.5, 57.165}, {1, 147.18}, {5, 783.20}};
    std::vector<double> distances;
    distances.reserve(rows.size());
    for (const Row& row : rows) distances.push_back(row.distance_m * kStepsPerM);
    const auto all = structure_over_screens(40, 1024, 0.1 * kStepsPerM, 20 * kStepsPerM, distances);
    for (std::size_t i = 0; i < rows.size(); ++i) {
      const Row& row = rows[i];
      CAPTURE(row.distance_m);
      const Estimate& found = all[i];
      CAPTURE(found.mean / row.structure);
      CHECK(std::abs(found.mean - row.structure) < 3 * found.standard_error + 0.03 * row.structure);
    }
  }

  // Noll 1976, Journal of the Optical Society of America 66, 207, Table IV, with the exact constant
  // of the spectrum (the printed 1.0299, .134, .0648, .0401 round it): variance left after J modes.
  TEST_CASE("what is left after J Zernike modes is Noll's") {
    const auto all = many_modes(12, 10);

    struct Row {
      std::size_t modes;
      double residual;
    };

    for (const Row& row : {Row{1, 1.0324}, Row{3, .1347}, Row{6, .0650}, Row{10, .0402}}) {
      CAPTURE(row.modes);
      std::vector<double> values;
      values.reserve(all.size());
      for (const Modes& m : all) values.push_back(m.residual(row.modes));
      const Estimate found = estimate(values);
      CAPTURE(found.mean / row.residual);
      // Neighbouring pupils share their tilts: twice the standard error, three times; and 3% for
      // what lies between the grid's points.
      CHECK(std::abs(found.mean - row.residual) < 6 * found.standard_error + 0.03 * row.residual);
    }
    std::vector<double> tilt;
    for (const Modes& m : all) {
      tilt.push_back(m.coefficients[1] * m.coefficients[1]);
      tilt.push_back(m.coefficients[2] * m.coefficients[2]);
    }
    const Estimate found = estimate(tilt);
    CHECK(std::abs(found.mean - .44888) < 6 * found.standard_error + 0.03 * .44888);
  }

  // Fried 1978, Journal of the Optical Society of America 68, 1651, table: chance that the
  // wavefront without its tilt varies by less than 1 rad^2.
  TEST_CASE("lucky moments are as rare as Fried found") {
    const auto all = many_modes(12, 3);
    const double count = static_cast<double>(all.size());

    struct Row {
      double d_over_r0;
      double chance;
    };

    for (const Row& row : {Row{2, .986}, Row{3, .765}, Row{4, .334}, Row{5, .0938}}) {
      CAPTURE(row.d_over_r0);
      int lucky = 0;
      for (const Modes& m : all)
        lucky += static_cast<int>(m.residual(3) * std::pow(row.d_over_r0, 5.0 / 3) < 1);
      const double error = std::sqrt(row.chance * (1 - row.chance) / count);
      CAPTURE(lucky / count);
      // Three standard errors; and 0.03 for the residual's 3%, which shifts a steep curve.
      CHECK(std::abs(lucky / count - row.chance) < 3 * error + 0.03);
    }
  }

  TEST_CASE("tilts are the best planes through the phase") {
    const Pupil pupil(64, 0.4, 0.3);
    PhaseScreen screen(256, 4, 0, 5, 6);
    screen.prepare_tilts(pupil);
    const auto place = screen.around(100.25, 40.5);
    std::vector<float> phase(pupil.points.size());
    screen.add(place, 7, -3, 1, pupil, 1, phase);
    double x = 0;
    double y = 0;
    double squares = 0;
    for (std::size_t k = 0; k < phase.size(); ++k) {
      const Pupil::Point& p = pupil.points[k];
      x += p.x * static_cast<double>(phase[k]);
      y += p.y * static_cast<double>(phase[k]);
      squares += static_cast<double>(p.x) * p.x;
    }
    const auto tilt = screen.tilt(place, 7, -3);
    CHECK(tilt.x == doctest::Approx(x / squares).epsilon(1e-3));
    CHECK(tilt.y == doctest::Approx(y / squares).epsilon(1e-3));
  }
}

TEST_SUITE("lab/air") {
  // Fried 1966: the long-exposure MTF is that of the telescope times exp(-3.44 (lambda f /
  // r0)^(5/3)).
  TEST_CASE("a long exposure has Fried's MTF") {
    constexpr int kSide = 64;
    constexpr double kCutoff = 0.5;
    constexpr double kDOverR0 = 3;
    const Pupil pupil(kSide, kCutoff, 0);
    lull::lab::PsfMaker maker(kSide);
    lull::Plane mean(kSide, kSide);
    lull::Plane still(kSide, kSide);
    maker.add(pupil, std::vector<float>(pupil.points.size(), 0.0F), 1, still);
    for (int i = 0; i < 24; ++i) {
      const PhaseScreen screen(1024, pupil.diameter_steps / kDOverR0, 0, 300,
                               static_cast<std::uint64_t>(i));
      for (int y = 0; y < 1024; y += 128) {
        for (int x = 0; x < 1024; x += 128) {
          std::vector<float> phase(pupil.points.size());
          screen.add(screen.around(x, y), 0, 0, 1, pupil, 1, phase);
          maker.add(pupil, phase, 1.0F / (24 * 64), mean);
        }
      }
    }
    const auto transfer = [](const lull::Plane& psf, double f) {
      std::complex<double> sum;
      for (int y = 0; y < kSide; ++y) {
        for (int x = 0; x < kSide; ++x) {
          const int wrapped = x < kSide / 2 ? x : x - kSide;
          sum +=
              std::polar(static_cast<double>(psf.row(y)[x]), -2 * std::numbers::pi * f * wrapped);
        }
      }
      return std::abs(sum);
    };
    for (const double u : {0.125, 0.25, 0.375, 0.5}) {
      CAPTURE(u);
      const double ratio = transfer(mean, u * kCutoff) / transfer(still, u * kCutoff);
      const double theory = std::exp(-3.44 * std::pow(u * kDOverR0, 5.0 / 3));
      CAPTURE(ratio / theory);
      // 1,536 exposures, of which those of one screen share their slowest waves.
      CHECK(std::abs(ratio - theory) < 0.025);
    }
  }

  // Filippenko 1982, Publications of the Astronomical Society of the Pacific 94, 715, Table 1,
  // sec z = 1.50, relative to 500 nm, arcsec.
  TEST_CASE("dispersion is Filippenko's") {
    lull::lab::AirParameters air;
    air.pressure_mmhg = 600;
    air.temperature_c = 7;
    air.water_mmhg = 8;
    air.zenith_distance_deg = std::acos(1 / 1.5) * 180 / std::numbers::pi;

    struct Row {
      double nm;
      double arcsec;
    };

    for (const Row& row : {Row{300, 2.37}, Row{350, 1.34}, Row{400, .71}, Row{450, .29},
                           Row{550, -.21}, Row{600, -.37}, Row{700, -.60}, Row{1000, -.91}}) {
      CAPTURE(row.nm);
      // The table has two places.
      CHECK(std::abs(lull::lab::dispersion_arcsec(row.nm * 1e-9, 500e-9, air) - row.arcsec) <
            0.0101);
    }
  }
}

TEST_SUITE("lab/mount") {
  TEST_CASE("the field turns by degrees a second about the middle of the capture") {
    lull::lab::MountParameters p;
    p.rotation_deg_s = 2;
    const lull::lab::Mount mount(p, 1, 10);
    CHECK(mount.turn_rad(5) == 0);
    CHECK(mount.turn_rad(5.5) == doctest::Approx(std::numbers::pi / 180));
    CHECK(mount.turn_rad(0) == doctest::Approx(-std::numbers::pi / 18));
  }
}

TEST_SUITE("lab/real_worlds") {
  // Root mean square of changes over a time, over that of values that have nothing in common (1.41
  // times their deviation): small within a change's own time, about 1 far beyond it.
  template <class Value>
  double change_over(double seconds, double long_s, const Value& value) {
    double changes = 0;
    double squares = 0;
    double sum = 0;
    constexpr int kCount = 4000;
    for (int i = 0; i < kCount; ++i) {
      const double t = long_s * i / kCount;
      changes += std::pow(value(t + seconds) - value(t), 2);
      squares += std::pow(value(t), 2);
      sum += value(t);
    }
    return std::sqrt(changes / 2 / (squares - sum * sum / kCount));
  }

  TEST_CASE("gusts, cloud and errors of tracking each last as long as asked for") {
    lull::lab::Parameters p;
    p.air.d_over_r0_swing = 0;
    p.air.slow_swing = 0.3;
    p.air.slow_swing_s = 20;
    p.air.cloud_swing = 0.1;
    p.air.cloud_s = 5;
    p.mount = {};
    p.mount.drift_x_px_s = 0;
    p.mount.drift_y_px_s = 0;
    p.mount.periodic_px = 0;
    p.mount.shake_px = 0;
    p.mount.wander_px = 6;
    p.mount.wander_s = 10;
    const Pupil pupil(32, p.cutoff_cycles_per_px(), 0, {});
    const lull::lab::Air air(p, pupil, 128);
    const lull::lab::Mount mount(p.mount, 1, 10);
    constexpr double kLongS = 4000;
    const auto strength = [&](double t) { return std::log(air.d_over_r0(t)); };
    const auto light = [&](double t) { return std::log(air.transparency(t)); };
    const auto place = [&](double t) { return mount.at(t).x_px; };
    CHECK(change_over(2, kLongS, strength) < 0.35);
    CHECK(change_over(60, kLongS, strength) > 0.7);
    CHECK(change_over(0.5, kLongS, light) < 0.35);
    CHECK(change_over(15, kLongS, light) > 0.7);
    CHECK(change_over(1, kLongS, place) < 0.35);
    CHECK(change_over(30, kLongS, place) > 0.7);
    double along = 0;
    double down = 0;
    double both = 0;
    for (int i = 0; i < 4000; ++i) {
      const auto at = mount.at(i);
      along += std::pow(at.x_px, 2) / 4000;
      down += std::pow(at.y_px, 2) / 4000;
      both += at.x_px * at.y_px / 4000;
    }
    CHECK(std::sqrt(along) == doctest::Approx(6).epsilon(0.1));
    CHECK(std::sqrt(down) == doctest::Approx(6).epsilon(0.1));
    CHECK(std::abs(both) < 0.3 * std::sqrt(along * down));  // the axes wander apart
  }

  TEST_CASE("the air of a poor moment is that of both swings together") {
    lull::lab::AirParameters air;
    air.d_over_r0 = 5;
    air.d_over_r0_swing = 0.3;
    air.slow_swing = 0.4;  // 0.3, 0.4, 0.5: two standard deviations are 1
    CHECK(air.worst_d_over_r0() == doctest::Approx(10));
  }
}

TEST_SUITE("lab/air") {
  // A slope of 2 pi / N rad a step of the pupil moves the image of N px, its Fourier transform, by
  // a pixel. Slopes are those of the best plane through the phase (screen.h), whose strength is
  // held against Noll's theory above.
  TEST_CASE("tilts in pixels are the slopes of the phase, in any air") {
    lull::lab::Parameters p;
    p.air.d_over_r0 = 7;
    const int side = 64;
    const Pupil pupil(side, p.cutoff_cycles_per_px(), 0, {});
    const lull::lab::Air air(p, pupil, 256);
    const auto instant = air.at(0.4);
    std::vector<float> phase;
    air.phase(instant, 8, -5, 1, pupil, phase);
    double x = 0;
    double y = 0;
    double squares = 0;
    for (std::size_t i = 0; i < pupil.points.size(); ++i) {
      x += static_cast<double>(phase[i]) * pupil.points[i].x;
      y += static_cast<double>(phase[i]) * pupil.points[i].y;
      squares += pupil.points[i].x * pupil.points[i].x;
    }
    const auto tilt = air.tilt(instant, 8, -5);
    const double step = 2 * std::numbers::pi / side;
    CHECK(tilt.x_px == doctest::Approx(x / squares / step).epsilon(0.01));
    CHECK(tilt.y_px == doctest::Approx(y / squares / step).epsilon(0.01));
  }

  // The power of the phase goes with r0^(-5/3), and shares are those of this power.
  TEST_CASE("a layer with a quarter of the turbulence has half of its tilt") {
    lull::lab::Parameters p;
    const Pupil pupil(64, p.cutoff_cycles_per_px(), 0, {});
    const auto tilt_with = [&](double share) {
      p.air.layers = {{0, share, 5, 0}};
      const lull::lab::Air air(p, pupil, 256);
      return air.tilt(air.at(0.1), 0, 0);
    };
    CHECK(tilt_with(0.25).x_px == doctest::Approx(tilt_with(1).x_px / 2).epsilon(1e-4));
    CHECK(tilt_with(0.25).y_px == doctest::Approx(tilt_with(1).y_px / 2).epsilon(1e-4));
  }

  TEST_CASE("the phase of a wave twice as long is half of it") {
    lull::lab::Parameters p;
    const Pupil pupil(64, p.cutoff_cycles_per_px(), 0, {});
    const lull::lab::Air air(p, pupil, 256);
    const auto instant = air.at(0.3);
    std::vector<float> once;
    std::vector<float> twice;
    air.phase(instant, 4, -3, 1, pupil, once);
    air.phase(instant, 4, -3, 2, pupil, twice);
    for (std::size_t i = 0; i < pupil.points.size(); ++i) {
      if (pupil.points[i].x != 0 || pupil.points[i].y != 0) continue;
      CHECK(std::abs(once[i]) > 0.1F);
      CHECK(static_cast<double>(twice[i]) == doctest::Approx(static_cast<double>(once[i]) / 2));
    }
  }
}

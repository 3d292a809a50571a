#include "lab/pupil.h"

#include <fftw3.h>

#include <algorithm>
#include <cmath>
#include <mutex>
#include <new>
#include <numbers>
#include <utility>

#include "spectrum/fft.h"

namespace lull::lab {

namespace {

constexpr int kParts = 8;  // a grid square at an edge is looked at in 8 x 8 parts

double factorial(int n) { return std::tgamma(n + 1.0); }

// Degree and signed angular frequency of Noll's index.
std::pair<int, int> degrees_of(int noll) {
  int n = 0;
  int rest = noll - 1;
  while (rest > n) {
    ++n;
    rest -= n;
  }
  const int m = (n % 2) + 2 * ((rest + ((n + 1) % 2)) / 2);
  return {n, noll % 2 == 0 ? m : -m};
}

// Whether more than half of a grid square is in the annulus.
bool is_open(double x, double y, double radius, double hole) {
  int open = 0;
  for (int j = 0; j < kParts; ++j) {
    for (int i = 0; i < kParts; ++i) {
      const double r = std::hypot(x + (i + 0.5) / kParts - 0.5, y + (j + 0.5) / kParts - 0.5);
      open += static_cast<int>(r <= radius && r >= hole);
    }
  }
  return 2 * open > kParts * kParts;
}

}  // namespace

double zernike(int noll, double x, double y) {
  const auto [n, m] = degrees_of(noll);
  const int order = std::abs(m);
  const double r = std::hypot(x, y);
  double radial = 0;
  for (int s = 0; s <= (n - order) / 2; ++s) {
    radial += (s % 2 == 0 ? 1 : -1) * factorial(n - s) /
              (factorial(s) * factorial((n + order) / 2 - s) * factorial((n - order) / 2 - s)) *
              std::pow(r, n - 2 * s);
  }
  if (m == 0) return std::sqrt(n + 1.0) * radial;
  const double angle = order * std::atan2(y, x);
  return std::sqrt(2.0 * (n + 1)) * radial * (m > 0 ? std::cos(angle) : std::sin(angle));
}

Pupil::Pupil(int side, double cutoff_cycles_per_px, double obstruction,
             const std::vector<double>& aberrations_rad)
    : psf_side(side), diameter_steps(cutoff_cycles_per_px * side) {
  const double radius = diameter_steps / 2;
  const int reach = static_cast<int>(std::ceil(radius));
  for (int y = -reach; y <= reach; ++y) {
    for (int x = -reach; x <= reach; ++x) {
      if (!is_open(x, y, radius, obstruction * radius)) continue;
      double phase = 0;
      for (std::size_t i = 0; i < aberrations_rad.size(); ++i) {
        phase += aberrations_rad[i] * zernike(static_cast<int>(i) + 4, x / radius, y / radius);
      }
      points.push_back({x, y, static_cast<float>(phase)});
    }
  }
}

struct PsfMaker::Work {
  explicit Work(int side) {
    const auto count = static_cast<std::size_t>(side) * static_cast<std::size_t>(side);
    field = reinterpret_cast<std::complex<float>*>(fftwf_alloc_complex(count));
    if (field == nullptr) throw std::bad_alloc();
    const std::lock_guard lock(spectrum::fft_planner());
    auto* place = reinterpret_cast<fftwf_complex*>(field);
    plan = fftwf_plan_dft_2d(side, side, place, place, FFTW_FORWARD, FFTW_ESTIMATE);
    if (plan == nullptr) throw std::bad_alloc();
  }

  ~Work() {
    const std::lock_guard lock(spectrum::fft_planner());
    fftwf_destroy_plan(plan);
    fftwf_free(field);
  }

  Work(const Work&) = delete;
  Work& operator=(const Work&) = delete;

  std::complex<float>* field = nullptr;
  fftwf_plan plan = nullptr;
};

PsfMaker::PsfMaker(int psf_side) : side_(psf_side), work_(std::make_unique<Work>(psf_side)) {}

PsfMaker::~PsfMaker() = default;
PsfMaker::PsfMaker(PsfMaker&&) noexcept = default;
PsfMaker& PsfMaker::operator=(PsfMaker&&) noexcept = default;

void PsfMaker::add(const Pupil& pupil, const std::vector<float>& phase_rad, float weight,
                   Plane& out) {
  const auto count = static_cast<std::size_t>(side_) * static_cast<std::size_t>(side_);
  std::complex<float>* field = work_->field;
  std::fill_n(field, count, std::complex<float>());
  std::complex<double> sum;
  for (std::size_t i = 0; i < pupil.points.size(); ++i) {
    const Pupil::Point& p = pupil.points[i];
    const float phase = phase_rad[i] + p.aberration_rad;
    const std::complex<float> value(std::cos(phase), std::sin(phase));
    sum += value;
    const int x = (p.x + side_) % side_;
    const int y = (p.y + side_) % side_;
    field[y * side_ + x] += value;
  }
  const auto open = static_cast<double>(pupil.points.size());
  strehl_ = std::norm(sum) / (open * open);
  fftwf_execute(work_->plan);
  // Parseval: before scaling a PSF sums to count * open.
  const auto scale = weight / static_cast<float>(open * static_cast<double>(count));
  for (int y = 0; y < side_; ++y) {
    float* row = out.row(y);
    for (int x = 0; x < side_; ++x) row[x] += scale * std::norm(field[y * side_ + x]);
  }
}

}  // namespace lull::lab

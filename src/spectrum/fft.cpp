#include "spectrum/fft.h"

#include <fftw3.h>

#include <algorithm>
#include <cmath>
#include <map>
#include <mutex>
#include <new>
#include <numbers>
#include <numeric>
#include <utility>

#include "core/cancel.h"
#include "spectrum/window_kernels.h"

namespace lull::spectrum {

namespace {

bool is_fast(int n) {
  for (const int factor : {2, 3, 5}) {
    while (n % factor == 0) n /= factor;
  }
  return n == 1;
}

fftwf_complex* as_fftw(std::complex<float>* bins) {
  return reinterpret_cast<fftwf_complex*>(bins);  // documented to have the same layout
}

}  // namespace

std::string fft_version() { return fftwf_version; }

Spectrum::Spectrum(Size plane) : size_(plane) {
  const auto count = static_cast<std::size_t>(rows()) * static_cast<std::size_t>(columns());
  auto* memory =
      static_cast<std::complex<float>*>(fftwf_malloc(count * sizeof(std::complex<float>)));
  if (memory == nullptr) throw std::bad_alloc();
  bins_.reset(memory);
  clear();
}

void Spectrum::Free::operator()(std::complex<float>* memory) const { fftwf_free(memory); }

void Spectrum::clear() {
  std::fill_n(bins_.get(), static_cast<std::size_t>(rows()) * static_cast<std::size_t>(columns()),
              std::complex<float>());
}

// Rows, then columns. FFTW's estimate of a plan for both at once takes twice the time of these, and
// a plan by its timings would give other bits from run to run. A row of even length is one complex
// sample for each pair of its values (Cooley, Lewis & Welch 1970, J. Sound Vib. 12, 315), which has
// faster plans than a real one.
struct Fft::Plans {
  explicit Plans(Size size);
  ~Plans();
  Plans(const Plans&) = delete;
  Plans& operator=(const Plans&) = delete;

  int half = 0;  ///< pairs of a row; 0: its length is odd
  fftwf_plan rows = nullptr;
  fftwf_plan columns = nullptr;
  fftwf_plan columns_back = nullptr;
  fftwf_plan rows_back = nullptr;
  std::vector<float> turns;       ///< see kernels::mix_ends()
  std::vector<float> turns_back;  ///< with the scale of the inverse
};

namespace {

// The factors of mix_ends(): scale * -i exp(sign * 2 pi i k / (2 half)), each as the rows of a
// product with a complex number: re, re and -im, im.
std::vector<float> turns_of(int half, double sign, double scale) {
  std::vector<float> turns;
  turns.reserve(static_cast<std::size_t>(half + 1) * 4);
  for (int k = 0; k <= half / 2; ++k) {
    const double angle = sign * std::numbers::pi * k / half;
    const auto re = static_cast<float>(scale * std::sin(angle));
    const auto im = static_cast<float>(scale * -std::cos(angle));
    for (const float factor : {re, re, -im, im}) turns.push_back(factor);
  }
  return turns;
}

}  // namespace

Fft::Plans::Plans(Size size) : half(size.width_px % 2 == 0 ? size.width_px / 2 : 0) {
  const int height = size.height_px;
  const int width = size.width_px;
  Spectrum first(size);
  Spectrum second(size);
  const int columns_count = first.columns();
  const std::unique_ptr<float, FreeReal> real(
      fftwf_alloc_real(static_cast<std::size_t>(size.area_px())));
  if (!real) throw std::bad_alloc();
  fftwf_complex* const from = as_fftw(first.row(0));
  fftwf_complex* const to = as_fftw(second.row(0));
  if (half > 0) {
    auto* const pairs = reinterpret_cast<fftwf_complex*>(real.get());
    rows = fftwf_plan_many_dft(1, &half, height, pairs, nullptr, 1, half, to, nullptr, 1,
                               columns_count, FFTW_FORWARD, FFTW_ESTIMATE);
    rows_back = fftwf_plan_many_dft(1, &half, height, from, nullptr, 1, columns_count, pairs,
                                    nullptr, 1, half, FFTW_BACKWARD, FFTW_ESTIMATE);
    turns = turns_of(half, -1, 0.5);
    turns_back = turns_of(half, 1, -1.0 / static_cast<double>(size.area_px()));
  } else {
    rows = fftwf_plan_many_dft_r2c(1, &width, height, real.get(), nullptr, 1, width, to, nullptr, 1,
                                   columns_count, FFTW_ESTIMATE);
    rows_back = fftwf_plan_many_dft_c2r(1, &width, height, from, nullptr, 1, columns_count,
                                        real.get(), nullptr, 1, width, FFTW_ESTIMATE);
  }
  for (const auto& [plan, sign] :
       {std::pair{&columns, FFTW_FORWARD}, {&columns_back, FFTW_BACKWARD}})
    *plan = fftwf_plan_many_dft(1, &height, columns_count, from, nullptr, columns_count, 1, to,
                                nullptr, columns_count, 1, sign, FFTW_ESTIMATE);
}

Fft::Plans::~Plans() {
  for (const fftwf_plan plan : {rows, columns, columns_back, rows_back}) fftwf_destroy_plan(plan);
}

std::mutex& fft_planner() {
  static std::mutex guard;
  return guard;
}

const Fft::Plans& Fft::plans_for(Size size) {
  // Plans live as long as the process.
  struct Cache {
    ~Cache() {
      plans.clear();
      fftwf_cleanup();
    }

    std::map<std::pair<int, int>, Plans> plans;
  };

  static Cache cache;
  const std::scoped_lock lock(fft_planner());
  return cache.plans.try_emplace({size.height_px, size.width_px}, size).first->second;
}

void Fft::FreeReal::operator()(float* memory) const { fftwf_free(memory); }

Fft::Fft(Size size)
    : size_(size),
      plans_(&plans_for(size)),
      packed_(fftwf_alloc_real(static_cast<std::size_t>(size.area_px()))),
      between_(size) {
  if (!packed_) throw std::bad_alloc();
}

// Whether FFTW can work on these rows where they lie.
bool Fft::is_packed(const float* samples, std::ptrdiff_t stride_elems) const {
  return stride_elems == size_.width_px &&
         fftwf_alignment_of(const_cast<float*>(samples)) == fftwf_alignment_of(packed_.get());
}

void Fft::forward(PlaneView in, Spectrum& out) {
  LULL_ASSERT(in.size() == size_);
  stop_if_cancelled();
  if (out.plane_size() != size_) out = Spectrum(size_);
  // The input stays as it is, out of place, whatever the type of the pointer says.
  auto* samples = const_cast<float*>(in.data);
  if (!is_packed(samples, in.stride_elems)) {
    samples = packed_.get();
    for (int y = 0; y < size_.height_px; ++y)
      std::copy_n(in.row(y), size_.width_px, samples + std::ptrdiff_t{y} * size_.width_px);
  }
  fftwf_complex* const between = as_fftw(between_.row(0));
  if (const int half = plans_->half; half > 0) {
    fftwf_execute_dft(plans_->rows, reinterpret_cast<fftwf_complex*>(samples), between);
    for (int y = 0; y < size_.height_px; ++y) {
      std::complex<float>* row = between_.row(y);
      const std::complex<float> first = row[0];
      row[0] = first.real() + first.imag();
      row[half] = first.real() - first.imag();
      kernels::mix_ends()(reals(row), plans_->turns.data(), 0.5F, half);
    }
  } else {
    fftwf_execute_dft_r2c(plans_->rows, samples, between);
  }
  fftwf_execute_dft(plans_->columns, between, as_fftw(out.row(0)));
}

void Fft::inverse(const Spectrum& in, MutablePlaneView out) {
  LULL_ASSERT(in.plane_size() == size_ && out.size() == size_);
  stop_if_cancelled();
  fftwf_complex* const between = as_fftw(between_.row(0));
  fftwf_execute_dft(plans_->columns_back, as_fftw(const_cast<std::complex<float>*>(in.row(0))),
                    between);
  const bool in_place = is_packed(out.data, out.stride_elems);
  float* const samples = in_place ? out.data : packed_.get();
  const float scale = 1.0F / static_cast<float>(size_.area_px());
  if (const int half = plans_->half; half > 0) {
    for (int y = 0; y < size_.height_px; ++y) {
      std::complex<float>* row = between_.row(y);
      const float first = scale * row[0].real();
      const float last = scale * row[half].real();
      row[0] = {first + last, first - last};
      kernels::mix_ends()(reals(row), plans_->turns_back.data(), scale, half);
    }
    fftwf_execute_dft(plans_->rows_back, between, reinterpret_cast<fftwf_complex*>(samples));
  } else {
    fftwf_execute_dft_c2r(plans_->rows_back, between, samples);
    for (std::int64_t i = 0; i < size_.area_px(); ++i) samples[i] *= scale;
  }
  if (in_place) return;
  for (int y = 0; y < size_.height_px; ++y)
    std::copy_n(samples + std::ptrdiff_t{y} * size_.width_px, size_.width_px, out.row(y));
}

int fast_length_below(int n) {
  while (n > 1 && !is_fast(n)) --n;
  return std::max(n, 1);
}

int fast_length_above(int n) {
  while (!is_fast(n)) ++n;
  return n;
}

std::vector<float> tukey_window(int length, double share) {
  std::vector<float> window(static_cast<std::size_t>(length), 1.0F);
  const double ramp = share * length / 2;
  for (int i = 0; i < length; ++i) {
    const double from_edge = std::min(i, length - 1 - i) + 0.5;
    if (from_edge >= ramp) continue;
    window[static_cast<std::size_t>(i)] =
        static_cast<float>(0.5 - 0.5 * std::cos(std::numbers::pi * from_edge / ramp));
  }
  return window;
}

void windowed_spectrum(PlaneView plane, const std::vector<float>& across,
                       const std::vector<float>& down, Fft& fft, Plane& work, Spectrum& out) {
  const int width = work.width();
  // The mean of an even picture is exact, and leaves nothing.
  const float base = plane.row(work.height() / 2)[width / 2];
  double sum = 0;
  for (int y = 0; y < work.height(); ++y) {
    float in_row = 0;
    kernels::weighted_sum()(plane.row(y), base, across.data(), width, &in_row);
    sum += static_cast<double>(down[static_cast<std::size_t>(y)]) * static_cast<double>(in_row);
  }
  const double weights = std::accumulate(across.begin(), across.end(), 0.0) *
                         std::accumulate(down.begin(), down.end(), 0.0);
  const auto mean = static_cast<float>(static_cast<double>(base) + sum / weights);
  for (int y = 0; y < work.height(); ++y) {
    kernels::apply_window()(plane.row(y), mean, down[static_cast<std::size_t>(y)], across.data(),
                            width, work.row(y));
  }
  fft.forward(std::as_const(work).view(), out);
}

Spectrum windowed_spectrum(PlaneView plane, const std::vector<float>& across,
                           const std::vector<float>& down, Fft& fft) {
  Plane work(plane.size());
  Spectrum spectrum;
  windowed_spectrum(plane, across, down, fft, work, spectrum);
  return spectrum;
}

}  // namespace lull::spectrum

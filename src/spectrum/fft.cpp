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

struct Fft::Plans {
  Plans() = default;

  ~Plans() {
    fftwf_destroy_plan(forward);
    fftwf_destroy_plan(inverse);
  }

  Plans(const Plans&) = delete;
  Plans& operator=(const Plans&) = delete;

  fftwf_plan forward = nullptr;
  fftwf_plan inverse = nullptr;
};

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
  auto [entry, is_new] = cache.plans.try_emplace({size.height_px, size.width_px});
  if (is_new) {
    Spectrum spectrum(size);
    const std::unique_ptr<float, FreeReal> real(
        fftwf_alloc_real(static_cast<std::size_t>(size.area_px())));
    entry->second.forward = fftwf_plan_dft_r2c_2d(size.height_px, size.width_px, real.get(),
                                                  as_fftw(spectrum.row(0)), FFTW_ESTIMATE);
    entry->second.inverse = fftwf_plan_dft_c2r_2d(
        size.height_px, size.width_px, as_fftw(spectrum.row(0)), real.get(), FFTW_ESTIMATE);
  }
  return entry->second;
}

void Fft::FreeReal::operator()(float* memory) const { fftwf_free(memory); }

Fft::Fft(Size size)
    : size_(size),
      plans_(&plans_for(size)),
      packed_(fftwf_alloc_real(static_cast<std::size_t>(size.area_px()))) {
  if (!packed_) throw std::bad_alloc();
}

void Fft::forward(PlaneView in, Spectrum& out) {
  LULL_ASSERT(in.size() == size_);
  stop_if_cancelled();
  if (out.plane_size() != size_) out = Spectrum(size_);
  // Real input stays as it is, out of place, whatever the type of the pointer says.
  auto* samples = const_cast<float*>(in.data);
  const bool packed = in.stride_elems == size_.width_px &&
                      fftwf_alignment_of(samples) == fftwf_alignment_of(packed_.get());
  if (!packed) {
    samples = packed_.get();
    for (int y = 0; y < size_.height_px; ++y)
      std::copy_n(in.row(y), size_.width_px, samples + std::ptrdiff_t{y} * size_.width_px);
  }
  fftwf_execute_dft_r2c(plans_->forward, samples, as_fftw(out.row(0)));
}

void Fft::inverse(Spectrum& in, MutablePlaneView out) {
  LULL_ASSERT(in.plane_size() == size_ && out.size() == size_);
  stop_if_cancelled();
  fftwf_execute_dft_c2r(plans_->inverse, as_fftw(in.row(0)), packed_.get());
  const float factor = 1.0F / static_cast<float>(size_.area_px());
  for (int y = 0; y < size_.height_px; ++y) {
    const float* from = packed_.get() + static_cast<std::ptrdiff_t>(y) * size_.width_px;
    float* to = out.row(y);
    for (int x = 0; x < size_.width_px; ++x) to[x] = from[x] * factor;
  }
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

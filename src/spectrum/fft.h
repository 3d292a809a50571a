#pragma once

#include <complex>
#include <memory>
#include <mutex>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::spectrum {

/// Name and version of the library that transforms.
[[nodiscard]] std::string fft_version();

/// Complex numbers as they lie in memory: re, im by turns (C++20, [complex.numbers.general]).
inline float* reals(std::complex<float>* values) { return reinterpret_cast<float*>(values); }

inline const float* reals(const std::complex<float>* values) {
  return reinterpret_cast<const float*>(values);
}

/// Half spectrum of a real H x W plane: H rows of W/2 + 1 bins, frequencies as FFTW orders them.
class Spectrum {
 public:
  Spectrum() = default;
  explicit Spectrum(Size plane);

  [[nodiscard]] Size plane_size() const { return size_; }

  [[nodiscard]] int columns() const { return size_.width_px / 2 + 1; }

  [[nodiscard]] int rows() const { return size_.height_px; }

  [[nodiscard]] std::complex<float>* row(int r) { return bins_.get() + offset(r); }

  [[nodiscard]] const std::complex<float>* row(int r) const { return bins_.get() + offset(r); }

  /// Vertical frequency of row r, cycles/px, in [-0.5, 0.5).
  [[nodiscard]] double frequency_y(int r) const {
    return static_cast<double>(r < (size_.height_px + 1) / 2 ? r : r - size_.height_px) /
           size_.height_px;
  }

  /// Horizontal frequency of column c, cycles/px, in [0, 0.5].
  [[nodiscard]] double frequency_x(int c) const { return static_cast<double>(c) / size_.width_px; }

  /// Number of bins of the full spectrum for each bin of column c: 1 or 2.
  [[nodiscard]] double multiplicity(int c) const {
    return c == 0 || 2 * c == size_.width_px ? 1.0 : 2.0;
  }

  void clear();

 private:
  struct Free {
    void operator()(std::complex<float>* memory) const;
  };

  [[nodiscard]] std::ptrdiff_t offset(int r) const {
    return static_cast<std::ptrdiff_t>(r) * columns();
  }

  Size size_;
  std::unique_ptr<std::complex<float>, Free> bins_;
};

/// To be held while FFTW plans are made or destroyed: its planner is not thread-safe.
[[nodiscard]] std::mutex& fft_planner();

/// Forward and inverse real transforms of one size. Plans are made once for each size in the
/// process, under a lock, by FFTW's estimate (so the same machine gives the same bits every time);
/// running them is thread-safe. The inverse is scaled so that it undoes the forward one.
class Fft {
 public:
  explicit Fft(Size size);

  [[nodiscard]] Size size() const { return size_; }

  /// `in` has this size.
  void forward(PlaneView in, Spectrum& out);

  void inverse(const Spectrum& in, MutablePlaneView out);

 private:
  struct Plans;

  struct FreeReal {
    void operator()(float* memory) const;
  };

  static const Plans& plans_for(Size size);
  [[nodiscard]] bool is_packed(const float* samples, std::ptrdiff_t stride_elems) const;

  Size size_;
  const Plans* plans_;
  std::unique_ptr<float, FreeReal> packed_;
  Spectrum between_;  ///< rows are transformed, columns are not
};

/// The largest length <= n whose only prime factors are 2, 3 and 5, for which transforms are fast.
[[nodiscard]] int fast_length_below(int n);

/// The smallest such length >= n.
[[nodiscard]] int fast_length_above(int n);

/// Raised-cosine window that falls to zero over `share` of either half (Tukey). 0 = rectangle.
[[nodiscard]] std::vector<float> tukey_window(int length, double share);

/// Spectrum of a plane as seen through a window: its mean under the window is subtracted, then the
/// window applied, so that neither its level nor its edges show.
/// @param across,down  weights of columns and rows. @param fft of the plane's size.
[[nodiscard]] Spectrum windowed_spectrum(PlaneView plane, const std::vector<float>& across,
                                         const std::vector<float>& down, Fft& fft);

/// The same into memory that is there. @param work  of the plane's size, overwritten; may be the
/// plane itself.
void windowed_spectrum(PlaneView plane, const std::vector<float>& across,
                       const std::vector<float>& down, Fft& fft, Plane& work, Spectrum& out);

}  // namespace lull::spectrum

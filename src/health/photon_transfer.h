#pragma once

#include <array>
#include <cstdint>
#include <optional>
#include <vector>

#include "capture/capture.h"
#include "capture/frame.h"

namespace lull::health {

/// Noise against brightness. Levels in the sensor's own steps (ADU, 2^bits - 1 = full scale).
struct PhotonTransfer {
  struct Point {
    double level_adu = 0;
    double variance_adu2 = 0;  ///< of one sample
    double samples = 0;
  };

  std::vector<Point> points;  ///< rising level
  std::optional<double> gain_e_per_adu;
  double gain_error = 0;         ///< one standard deviation, relative
  double darkest_noise_adu = 0;  ///< standard deviation at the darkest level seen
  double whiteness = 1;  ///< variance at the finest scale over that at a coarser one, rounding
                         ///< subtracted; 1 = white

  /// Common practice, no source; white noise of these many samples stays within 5% of 1, the finest
  /// detail of well sampled captures within 10%.
  [[nodiscard]] bool white() const { return whiteness >= 0.75; }

  /// Standard deviation at this level or the next one above it that was seen; 0 above all.
  [[nodiscard]] double noise_at_adu(double level_adu) const;
};

/// Photon transfer from a capture of an object that moves and is distorted by the air (Janesick
/// 2007, Photon Transfer, ch. 5: variance = read noise^2 + signal / gain, from differences of two
/// exposures, which are free of fixed pattern). The difference of neighbouring frames is filtered
/// by [1 -2 1] x [1 -2 1]. At each brightness only the flattest quarter of the places is used, by
/// means over 3 x 3 samples with independent noise: there the air changes no detail as fine as the
/// filter passes.
class PhotonTransferCounts {
 public:
  explicit PhotonTransferCounts(const capture::CaptureInfo& info);

  struct Pair {
    const capture::Frame* first = nullptr;
    const capture::Frame* second = nullptr;
  };

  /// Adds pairs of neighbouring frames; in parallel. Sums are of whole numbers: any order will do.
  void add(const std::vector<Pair>& pairs);

  /// None: too few flat places.
  [[nodiscard]] std::optional<PhotonTransfer> result() const;

 private:
  static constexpr std::size_t kSlots = 8;
  static constexpr std::size_t kLevels = 64;
  static constexpr std::size_t kStructures = 32;

  struct Cell {
    std::int64_t samples = 0;
    std::int64_t level = 0;    ///< sum over 18 samples each
    std::uint64_t fine = 0;    ///< squares of [1 -2 1] x [1 -2 1]
    std::uint64_t coarse = 0;  ///< squares of [1 -1] x [1 -1]
  };

  using Table = std::array<std::array<Cell, kStructures>, kLevels>;

  template <class T>
  void count(const Pair& pair, Table& table) const;
  [[nodiscard]] Cell flattest(std::size_t level) const;
  void fit(PhotonTransfer& transfer) const;

  std::size_t plane_;
  int step_;  ///< to the next sample of the same colour
  double full_scale_;
  double black_;
  double adu_per_unit_;
  double top_adu_;
  std::vector<Table> slots_;
};

}  // namespace lull::health

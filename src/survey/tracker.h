#pragma once

#include <array>
#include <optional>
#include <vector>

#include "core/outcome.h"
#include "core/turn.h"
#include "quality/target.h"
#include "spectrum/fft.h"

namespace lull::survey {

/// Follows the object through a capture on reduced frames. A disc: by the centroid of what is
/// brighter than the sky, then by correlation around it. A surface: by correlation alone. Frames
/// come in blocks; within a block the reference does not change, so a block can run in parallel.
///
/// The correlation is the cross spectrum with the reference, divided by the reference's power (or
/// the median power of its ring where that is more), and weighted by the ring's signal share. So
/// frequencies without signal, whose phases are random, do not count (phase correlation: Kuglin &
/// Hines 1975; weighting as a Wiener filter).
class Tracker {
 public:
  /// @param reduced size of the reduced planes. @param target levels in their units.
  /// @param white_up_to  frequency up to which their noise is white, cycles/px. Beyond, the noise
  ///                     of a single frame cannot be measured.
  Tracker(Size reduced, quality::Target target, double white_up_to = 0.5);

  /// Memory for one thread.
  struct Workspace {
    std::optional<spectrum::Fft> fft;
    Plane window;
    Plane correlation;
    spectrum::Spectrum spectrum;  ///< of the window
    spectrum::Spectrum product;   ///< with the matched filter
    Displacement corner;          ///< where the window was cut, reduced px
  };

  /// Makes `plane` the reference, its object being at `at`. Call before the first locate().
  void set_reference(PlaneView plane, FrameOffset at, Workspace& workspace);

  /// Finds the object: its place against the tracker's reference, reduced px. Reject::lost_target
  /// when a disc has nothing brighter than the sky, Reject::weak_peak when the peak is too low.
  /// Safe to call in parallel with distinct workspaces.
  [[nodiscard]] Outcome<FrameOffset> locate(PlaneView plane, Workspace& workspace) const;

  /// How well the frame would match if it were turned: height of the correlation's peak over its
  /// rms, by Turn. All 0 when locate() finds no object. Safe to call in parallel, as locate() is.
  [[nodiscard]] std::array<double, kTurns> peaks(PlaneView plane, Workspace& workspace) const;

  /// Replaces the reference by the mean of the frames of a block, each at its place.
  void average_reference(const std::vector<PlaneView>& planes, const std::vector<FrameOffset>& at,
                         Workspace& workspace);

  [[nodiscard]] bool has_reference() const { return reference_.plane_size() == window_; }

  /// Position of the reference's object in the tracker's coordinates.
  [[nodiscard]] FrameOffset reference_at() const { return reference_at_; }

 private:
  void cut(PlaneView plane, Displacement centre, Workspace& workspace) const;
  [[nodiscard]] bool cut_object(PlaneView plane, Workspace& workspace) const;
  void correlate(Turn turn, Workspace& workspace) const;
  [[nodiscard]] std::optional<Displacement> centroid(PlaneView plane) const;
  [[nodiscard]] int ring_count() const;
  [[nodiscard]] std::vector<float> median_powers() const;
  [[nodiscard]] std::vector<float> shares_of_single(const std::vector<float>& medians) const;
  [[nodiscard]] std::vector<float> shares_of_sum(const std::vector<double>& single,
                                                 std::size_t frames) const;
  void match(const std::vector<float>& shares);

  Size reduced_;
  Size window_;
  quality::Target target_;
  double white_up_to_;
  std::vector<float> taper_x_, taper_y_;
  spectrum::Spectrum reference_;  ///< of the cut window, mean over what went in
  spectrum::Spectrum matched_;    ///< conjugate of the reference, whitened and weighted
  Displacement reference_corner_;
  FrameOffset reference_at_;
};

}  // namespace lull::survey

#pragma once

#include <optional>
#include <vector>

#include "capture/capture_info.h"
#include "capture/frame.h"
#include "core/plane.h"
#include "quality/measure.h"
#include "quality/ranking.h"
#include "quality/target.h"

namespace lull::survey {

/// What one frame shows on its own.
struct Observation {
  quality::CellMeasure cells;               ///< light, energy by Observer::metric()
  std::vector<quality::CellGrid> energies;  ///< light, by each of Observer::metrics()
  Plane reduced;                            ///< light, smaller by Observer::reduction()
  double brightness = 0;                    ///< of the object, see quality::object_brightness()
  double noise = 0;                         ///< light, of the pixels that the luminance came from
  int dead_rows = 0;                        ///< at the lower edge
  bool shows_object = false;                ///< a disc, or what quality::shows_structure() holds of
};

/// @throws NothingUsable when frames are too small to rank and register.
void check_frame_size(const capture::CaptureInfo& info);

/// Decides from the first frames of a capture what the target is and what to measure, then observes
/// frames in parallel; no frame depends on another. One thread at a time for one object.
class Observer {
 public:
  /// @param info    of the capture; must outlive this.
  /// @param first   frames to recognise the target by; not empty.
  /// @param metric  none: chosen by the kind of target.
  /// @throws NothingUsable when frames are too small to rank and register.
  Observer(const capture::CaptureInfo& info, const std::vector<capture::Frame>& first,
           std::optional<quality::Metric> metric);

  [[nodiscard]] const quality::Target& target() const { return target_; }

  /// By which patches are weighed, one of metrics().
  [[nodiscard]] quality::Metric metric() const { return metric_; }

  /// Of metric().
  [[nodiscard]] double noise_gain() const { return noise_gain_; }

  /// By which frames are ranked: the one asked for, or quality::kCombined.
  [[nodiscard]] const std::vector<quality::Metric>& metrics() const { return metrics_; }

  /// By which frames are reduced for tracking: a power of 2 that leaves at most 256 px a side.
  [[nodiscard]] int reduction() const { return reduction_; }

  [[nodiscard]] Size reduced_size() const { return reduced_size_; }

  /// One observation for each frame.
  void observe(const std::vector<capture::Frame>& frames, std::vector<Observation>& out);

  /// By metric() alone.
  [[nodiscard]] double sharpness(const Observation& seen) const;

  /// By each of metrics(), from Observation::energies.
  [[nodiscard]] quality::FrameEnergies energies(const Observation& seen) const;

  /// Whether the transfer of the frame stopped early: it has more dead rows than others have, and
  /// the object ends where they begin. (Rows of even sky look dead too.)
  /// @param typical_dead_rows  of the capture's frames.
  [[nodiscard]] bool cut_short(const Observation& seen, double typical_dead_rows) const;

 private:
  // For planes as large as the frame; as many as are observed at the same time.
  struct Workspace {
    quality::LuminanceBuffer luminance;
    quality::MeasureWorkspace measure;
    std::vector<float> scratch;
  };

  template <class Body>
  void for_frames(const std::vector<capture::Frame>& frames, const Body& body);
  [[nodiscard]] Plane reduce(const quality::Luminance& light, Workspace& work) const;
  void measure(const quality::Luminance& light, Workspace& work, Observation& out) const;
  void observe_one(const capture::Frame& frame, Workspace& work, Observation& out) const;

  const capture::CaptureInfo& info_;
  quality::Target target_;
  quality::Metric metric_ = quality::Metric::fine;
  std::vector<quality::Metric> metrics_;
  int reduction_ = 2;
  Size reduced_size_;
  double noise_gain_ = 0;
  std::vector<Workspace> workspaces_;
};

}  // namespace lull::survey

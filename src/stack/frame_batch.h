#pragma once

#include <algorithm>
#include <cstddef>
#include <map>
#include <numeric>
#include <string>
#include <vector>

#include "align/field_estimator.h"
#include "capture/frame_store.h"
#include "core/progress.h"
#include "quality/luminance.h"
#include "quality/measure.h"
#include "stack/candidates.h"
#include "stack/colour_frame.h"
#include "stack/contribution.h"
#include "stack/outlier_bounds.h"

namespace lull::stack {

/// One frame in memory, ready to be measured and warped.
struct LoadedFrame {
  std::size_t position = 0;
  align::PaddedFrame frame;
  ColourFrame colours;         ///< of captures in colour
  quality::CellMeasure cells;  ///< where asked for
  align::FieldEstimate estimate;
  std::vector<float> weights;
  quality::LuminanceBuffer luminance;
  quality::MeasureWorkspace workspace;
  align::FieldEstimator::Workspace field;
};

/// Fields by the position of their frame.
using KnownFields = std::map<std::size_t, align::FieldEstimate>;

/// Some frames at a time, as many as memory allows.
class FrameBatch {
 public:
  /// All outlive this.
  FrameBatch(capture::FrameStore& store, const survey::Survey& survey, const Candidates& candidates,
             std::size_t memory_bytes);

  [[nodiscard]] const std::string& path() const { return store_.info().path; }

  [[nodiscard]] std::size_t most() const { return frames_.size(); }

  /// Loads the frames at these positions, with the shift of tracking as their estimate; those that
  /// cannot be read again are left out. Reads in the order of the file.
  /// @param measured  with the cells, which weigh() needs.
  void load(std::vector<std::size_t> positions, bool measured);

  /// The same for positions [first, first + count).
  void load(std::size_t first, std::size_t count, bool measured);

  /// Loads the frames at these positions, batch by batch, and calls body() after each.
  template <class Body>
  void load_each(const std::vector<std::size_t>& positions, bool measured, const char* stage,
                 const Progress& progress, const Body& body) {
    const auto total = static_cast<std::int64_t>(positions.size());
    for (std::size_t first = 0; first < positions.size(); first += most()) {
      progress.step(stage, static_cast<std::int64_t>(first), total);
      const auto from = positions.begin() + static_cast<std::ptrdiff_t>(first);
      const std::size_t count = std::min(most(), positions.size() - first);
      load({from, from + static_cast<std::ptrdiff_t>(count)}, measured);
      body();
    }
    progress.step(stage, total, total);
  }

  /// The same for the first `count` positions.
  template <class Body>
  void load_each(std::size_t count, bool measured, const char* stage, const Progress& progress,
                 const Body& body) {
    std::vector<std::size_t> positions(count);
    std::iota(positions.begin(), positions.end(), std::size_t{0});
    load_each(positions, measured, stage, progress, body);
  }

  /// Those loaded, by rising position.
  [[nodiscard]] std::size_t count() const { return count_; }

  [[nodiscard]] LoadedFrame& operator[](std::size_t i) { return frames_[i]; }

  /// Measures the fields of the loaded frames. @param known  get refined.
  void estimate(const align::FieldEstimator& estimator, const KnownFields& known);

  /// Repairs what no scene can have put into the loaded frames, whose fields are known. Weights
  /// stay.
  void repair(const OutlierBounds& bounds);

  /// Repairs them, and weighs their patches by the sharpness of what is left. Frames that need more
  /// than a few hundredths repaired show something else: their weight is 0.
  /// @return how many samples of the others were repaired.
  std::int64_t weigh(const OutlierBounds& bounds);

  /// The loaded frames on their way into a stack; valid until the next load.
  [[nodiscard]] std::vector<Contribution> contributions(Channels channels) const;

  /// So many of them, the first ones, have helped to make the reference.
  [[nodiscard]] std::size_t of_reference() const;

 private:
  void prepare(const capture::Frame& frame, std::size_t position, bool measured,
               LoadedFrame& out) const;
  void measure(const quality::Luminance& light, LoadedFrame& out) const;
  [[nodiscard]] std::vector<Place> repaired(LoadedFrame& loaded, const OutlierBounds& bounds) const;
  [[nodiscard]] std::vector<float> weights_of(const LoadedFrame& loaded) const;

  capture::FrameStore& store_;
  const survey::Survey& survey_;
  const Candidates& candidates_;
  bool in_colour_;
  double noise_gain_;
  std::vector<LoadedFrame> frames_;
  std::size_t count_ = 0;
};

}  // namespace lull::stack

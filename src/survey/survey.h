#pragma once

#include <optional>
#include <string>
#include <vector>

#include "capture/frame_store.h"
#include "core/progress.h"
#include "quality/combined.h"
#include "quality/ranking.h"
#include "survey/field_rotation.h"
#include "survey/orientation.h"

namespace lull::survey {

struct Survey;

/// Receives the frames of a survey as they are read, so that they are read only once.
class SurveyWatcher {
 public:
  SurveyWatcher() = default;
  SurveyWatcher(const SurveyWatcher&) = delete;
  SurveyWatcher& operator=(const SurveyWatcher&) = delete;
  virtual ~SurveyWatcher() = default;

  /// Called from one thread, block by block, in order.
  /// @param frames decoded frames of the block, by rising index.
  /// @param so_far its last records are those of the block, damaged frames among them.
  virtual void see(const std::vector<capture::Frame>& frames, const Survey& so_far) = 0;
};

struct SurveyOptions {
  std::optional<quality::Metric> metric;   ///< none: quality::kCombined together
  std::vector<SurveyWatcher*> watchers{};  ///< all outlive the survey
};

/// Result of one pass over a capture.
struct Survey {
  quality::Target target;                          ///< levels in light
  quality::Metric metric = quality::Metric::fine;  ///< by which patches are weighed
  std::optional<quality::Shares> shares;           ///< where several measures rank the frames
  std::vector<quality::FrameRecord> records;       ///< one for each frame of the capture, in order
  int reduction = 1;        ///< tracking ran on frames reduced by this factor
  Orientation orientation;  ///< of the frames, which are surveyed as they are
  FieldTurn field_turn;     ///< slow, between the first and the last

  [[nodiscard]] std::int64_t count(Reject reason) const;
  [[nodiscard]] std::int64_t usable() const;

  /// What ranks the frames: the name of a measure, or the shares of several.
  [[nodiscard]] std::string ranked_by() const;

  /// Frames that could be measured, and those of them that show an object: a disc, or a surface
  /// with quality::shows_structure().
  std::int64_t measured = 0;
  std::int64_t structured = 0;

  /// Is there an object in at least half of the frames that could be measured? Neither noise nor
  /// what pixels, rows and columns add to every frame is one.
  [[nodiscard]] bool shows_object() const { return 2 * structured >= measured; }
};

/// Reads the capture once: sharpness, brightness, noise and position of the object for every
/// frame. Blocks of frames run in parallel; what is decided from one block to the next is decided
/// in order, so any number of threads gives the same records.
/// @throws NothingUsable when no frame could be decoded, or frames are too small.
[[nodiscard]] Survey survey_capture(capture::FrameStore& frames, const SurveyOptions& options,
                                    const Progress& progress);

}  // namespace lull::survey

#include "stack/frame_at_work.h"

#include <utility>

namespace lull::stack {

void FrameAtWork::assign(std::size_t frame_position, capture::Frame frame,
                         const capture::CaptureInfo& info) {
  position = frame_position;
  source = std::move(frame);
  stored = quality::luminance(source, info, workspace.luminance);
  luminance.assign(stored.view, stored.scale);
  if (has_colour(info)) colours.assign(source, info);
}

quality::CellMeasure FrameAtWork::measure(quality::Metric metric) {
  quality::CellMeasure cells = quality::measure(stored, metric, workspace.measure);
  const auto per_unit = static_cast<float>(stored.scale.per_unit);
  for (float& value : cells.energy.values()) value *= per_unit * per_unit;
  for (float& value : cells.mean.values())
    value = static_cast<float>(stored.scale.to_light(static_cast<double>(value)));
  return cells;
}

}  // namespace lull::stack

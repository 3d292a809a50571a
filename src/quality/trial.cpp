#include "quality/trial.h"

#include <cmath>
#include <cstddef>
#include <utility>

#include "quality/reduce.h"

namespace lull::quality {

namespace {

using capture::CaptureInfo;
using capture::Frame;

// The noise that is added to split a frame is not the noise of the noisier one.
constexpr std::uint64_t kSplitSeed = std::uint64_t{1} << 40U;

// Brightness and noise of the object, light.
struct Levels {
  double brightness = 0;
  double noise = 0;
};

// Cells in light.
CellMeasure cells_of(const Luminance& light, Metric metric, MeasureWorkspace& work) {
  CellMeasure cells = measure(light, metric, work);
  const auto per_unit = static_cast<float>(light.scale.per_unit);
  for (float& value : cells.energy.values()) value *= per_unit * per_unit;
  for (float& value : cells.mean.values()) {
    value = static_cast<float>(light.scale.to_light(static_cast<double>(value)));
  }
  return cells;
}

double score(const CellMeasure& cells, Metric metric, const Levels& levels,
             const TrialSetting& setting) {
  const double gain = noise_gain(metric, setting.info.colour);
  return frame_sharpness(cells, gain * levels.noise * levels.noise, levels.brightness,
                         setting.target.object);
}

// The luminance reduced, in light.
void reduce(const Luminance& light, int reduction, TrialWorkspace& work) {
  halve(light.view, work.measure.half);
  to_plane(work.measure.half, work.reduced);
  for (int factor = 2; factor < reduction; factor *= 2) {
    Plane smaller;
    halve(work.reduced.view(), smaller);
    work.reduced = std::move(smaller);
  }
  const float share = 1.0F / static_cast<float>(reduction * reduction);
  const auto black = static_cast<float>(light.scale.black);
  const auto per_unit = static_cast<float>(light.scale.per_unit);
  for (int y = 0; y < work.reduced.height(); ++y) {
    float* row = work.reduced.row(y);
    for (int x = 0; x < work.reduced.width(); ++x) row[x] = (row[x] * share - black) * per_unit;
  }
}

// Only cells of one colour of a chessboard count: the others pass as saturated.
CellMeasure every_other(CellMeasure cells, int colour) {
  for (int r = 0; r < cells.energy.rows(); ++r) {
    for (int c = 0; c < cells.energy.columns(); ++c) {
      if ((r + c) % 2 == colour) continue;
      const std::ptrdiff_t at = std::ptrdiff_t{r} * cells.energy.columns() + c;
      cells.saturated[static_cast<std::size_t>(at)] = true;
    }
  }
  return cells;
}

// Scores by every measure of a frame that was altered, from cells that `choose` lets count.
template <class Choose>
std::array<double, kMetrics.size()> altered_scores(const Frame& frame, const FrameRecord& record,
                                                   const TrialSetting& setting,
                                                   const Alteration& alteration,
                                                   TrialWorkspace& work, const Choose& choose) {
  const CaptureInfo info = altered_info(setting.info, alteration);
  const Frame changed = altered(frame, setting.info, alteration);
  const Luminance light = luminance(changed, info, work.luminance);
  reduce(light, setting.reduction, work);
  // Of the whole capture altered like this, so that its scores compare with those of the record.
  const Levels levels{object_brightness(work.reduced.view(), setting.target, work.scratch),
                      std::hypot(alteration.dimming * record.usual_noise, alteration.noise_sigma)};
  std::array<double, kMetrics.size()> scores{};
  for (std::size_t m = 0; m < kMetrics.size(); ++m) {
    scores[m] =
        score(choose(cells_of(light, kMetrics[m], work.measure)), kMetrics[m], levels, setting);
  }
  return scores;
}

}  // namespace

Trial try_measures(const Frame& frame, const FrameRecord& record, const TrialSetting& setting,
                   TrialWorkspace& workspace) {
  const auto all = [](CellMeasure cells) { return cells; };
  Alteration dimmer;
  dimmer.dimming = kTrialDimming;
  dimmer.sky = setting.target.sky;
  Alteration noisier;
  noisier.noise_sigma = record.noise;
  noisier.seed = static_cast<std::uint64_t>(record.index);
  const auto dimmed = altered_scores(frame, record, setting, dimmer, workspace, all);
  const auto noisy = altered_scores(frame, record, setting, noisier, workspace, all);
  std::array<std::array<double, kMetrics.size()>, 2> halves;
  for (int half = 0; half < 2; ++half) {
    Alteration split;
    split.noise_sigma = half == 0 ? record.noise : -record.noise;
    split.seed = noisier.seed + kSplitSeed;
    halves[static_cast<std::size_t>(half)] =
        altered_scores(frame, record, setting, split, workspace,
                       [half](CellMeasure cells) { return every_other(std::move(cells), half); });
  }
  const Luminance light = luminance(frame, setting.info, workspace.luminance);
  const Levels levels{record.brightness, record.usual_noise};
  Trial trial;
  for (std::size_t m = 0; m < kMetrics.size(); ++m) {
    trial[m].as_recorded =
        score(cells_of(light, kMetrics[m], workspace.measure), kMetrics[m], levels, setting);
    trial[m].dimmed = dimmed[m];
    trial[m].noisier = noisy[m];
    trial[m].halves = {halves[0][m], halves[1][m]};
  }
  return trial;
}

}  // namespace lull::quality

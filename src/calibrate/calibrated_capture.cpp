#include "calibrate/calibrated_capture.h"

#include <fmt/format.h>

#include <algorithm>
#include <utility>

#include "calibrate/changed_capture.h"
#include "calibrate/row_kernels.h"
#include "core/error.h"

namespace lull::calibrate {

namespace {

class CalibratedCapture final : public ChangedCapture {
 public:
  CalibratedCapture(std::unique_ptr<capture::Capture> source, capture::CaptureInfo info,
                    Calibration calibration)
      : ChangedCapture(std::move(source), std::move(info)), calibration_(std::move(calibration)) {}

 private:
  [[nodiscard]] capture::Frame changed(capture::Frame frame) const override {
    return calibration_.apply(frame);
  }

  Calibration calibration_;
};

constexpr int kFramesToCheck = 5;
constexpr int kFarBelowBlack = kBlack - kUnitsOfLight / 20;

[[nodiscard]] bool mostly_below(const SampleView& plane, int level) {
  std::int64_t count = 0;
  for (int y = 0; y < plane.height_px; ++y) {
    const auto* row = plane.row<std::uint16_t>(y);
    count += std::count_if(row, row + plane.width_px, [level](int value) { return value < level; });
  }
  return 2 * count > plane.size().area_px();
}

}  // namespace

std::unique_ptr<capture::Capture> calibrated(std::unique_ptr<capture::Capture> source,
                                             Calibration calibration) {
  capture::CaptureInfo info = calibration.info(source->info());
  return std::make_unique<CalibratedCapture>(std::move(source), std::move(info),
                                             std::move(calibration));
}

void check_dark_is_darker(capture::Capture& calibrated, const std::string& dark_path) {
  int seen = 0;
  bool lit = false;
  while (seen < kFramesToCheck && !lit) {
    const auto outcome = calibrated.next();
    if (!outcome.ok() && outcome.reason() == Reject::past_the_end) break;
    if (!outcome.ok()) continue;
    ++seen;
    lit = !mostly_below(outcome.value().planes[0], kFarBelowBlack);
  }
  calibrated.rewind();
  if (lit || seen == 0) return;
  throw InputError(
      fmt::format("{}: the dark is brighter than the capture {}. Check that the files are not "
                  "exchanged, and record the dark with the telescope covered, at the capture's "
                  "gain, offset and exposure.",
                  dark_path, calibrated.info().path));
}

}  // namespace lull::calibrate

#include "calibrate/calibrated_capture.h"

#include <utility>

namespace lull::calibrate {

namespace {

class CalibratedCapture final : public capture::Capture {
 public:
  CalibratedCapture(std::unique_ptr<capture::Capture> source, Calibration calibration)
      : source_(std::move(source)),
        calibration_(std::move(calibration)),
        info_(calibration_.info(source_->info())) {}

  [[nodiscard]] const capture::CaptureInfo& info() const override { return info_; }

  [[nodiscard]] Outcome<capture::Frame> next() override { return apply(source_->next()); }

  void rewind() override { source_->rewind(); }

  [[nodiscard]] Outcome<capture::Frame> at(FrameIndex index) override {
    return apply(source_->at(index));
  }

  [[nodiscard]] Tally tally() const override { return source_->tally(); }

 private:
  [[nodiscard]] Outcome<capture::Frame> apply(const Outcome<capture::Frame>& outcome) const {
    if (!outcome.ok()) return outcome.reason();
    return calibration_.apply(outcome.value());
  }

  std::unique_ptr<capture::Capture> source_;
  Calibration calibration_;
  capture::CaptureInfo info_;
};

}  // namespace

std::unique_ptr<capture::Capture> calibrated(std::unique_ptr<capture::Capture> source,
                                             Calibration calibration) {
  return std::make_unique<CalibratedCapture>(std::move(source), std::move(calibration));
}

}  // namespace lull::calibrate

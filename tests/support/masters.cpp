#include "support/masters.h"

#include "support/memory_capture.h"

namespace lull::test {

calibrate::Master master_of(const capture::CaptureInfo& info, const Samples& samples,
                            std::int64_t frames) {
  MemoryCapture capture(info, {samples});
  calibrate::Master master = calibrate::average(capture);
  master.frames = frames;
  return master;
}

Samples calibrate_one(const calibrate::Calibration& calibration, const capture::CaptureInfo& info,
                      const Samples& samples) {
  MemoryCapture capture(info, {samples});
  return samples_in(calibration.apply(capture.next().value()));
}

}  // namespace lull::test

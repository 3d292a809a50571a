#include "calibrate/repaired_capture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <cstring>
#include <utility>

#include "calibrate/changed_capture.h"
#include "core/samples.h"
#include "core/words.h"

namespace lull::calibrate {

namespace {

using capture::Capture;
using capture::CaptureInfo;
using capture::Frame;

constexpr std::int64_t kFewestFrames = 12;
constexpr double kSigmas = 6;
constexpr float kSpreads = 2;
constexpr float kBeside = 4;  // a star leaves at least so many-th of its height beside its peak
constexpr std::int64_t kMostOfSensor = 200;  // one pixel in so many: more are no defects but noise

// Lowest and highest of the eight same-colour neighbours, and the mean of the four nearest.
struct Neighbours {
  float lowest = 0;
  float highest = 0;
  float mean = 0;
};

Neighbours neighbours(const Plane& plane, int x, int y, int step) {
  Neighbours out{1e30F, -1e30F, 0};
  for (int j = -1; j <= 1; ++j) {
    const float* row = plane.row(y + j * step);
    for (int i = -1; i <= 1; ++i) {
      if (i == 0 && j == 0) continue;
      const float value = row[x + i * step];
      out.lowest = std::min(out.lowest, value);
      out.highest = std::max(out.highest, value);
      if (i == 0 || j == 0) out.mean += value / 4;
    }
  }
  return out;
}

// On a mosaic: excess of the pixels around, which see other colours, over the mean of their own
// colours. A star as small as the distance of two pixels of one colour shows only there.
float beside(const Plane& mean, int x, int y, int step) {
  float most = 0;
  if (step == 1) return most;
  for (int j = std::max(y - 1, step); j <= std::min(y + 1, mean.height() - step - 1); ++j) {
    for (int i = std::max(x - 1, step); i <= std::min(x + 1, mean.width() - step - 1); ++i) {
      if (i == x && j == y) continue;
      most = std::max(most, std::abs(mean.row(j)[i] - neighbours(mean, i, j, step).mean));
    }
  }
  return most;
}

void mark_outstanding(const Plane& mean, int step, DefectMask& mask) {
  Plane finest(mean.width() - 2 * step, mean.height() - 2 * step);
  for (int y = 0; y < finest.height(); ++y) {
    for (int x = 0; x < finest.width(); ++x) {
      finest.row(y)[x] =
          mean.row(y + step)[x + step] - neighbours(mean, x + step, y + step, step).mean;
    }
  }
  const auto least = static_cast<float>(kSigmas * robust_level(std::as_const(finest).view()).sigma);
  for (int y = step; y < mean.height() - step; ++y) {
    for (int x = step; x < mean.width() - step; ++x) {
      const float value = mean.row(y)[x];
      const Neighbours around = neighbours(mean, x, y, step);
      const float bound = std::max({least, kSpreads * (around.highest - around.lowest), 0.5F});
      if (value <= around.highest + bound && value >= around.lowest - bound) continue;
      const float excess = std::max(value - around.highest, around.lowest - value);
      if (excess > kBeside * beside(mean, x, y, step)) mask.mark(x, y);
    }
  }
}

std::int64_t marked(const DefectMask& mask) {
  std::int64_t count = 0;
  for (int y = 0; y < mask.size().height_px; ++y) {
    for (int x = 0; x < mask.size().width_px; ++x) count += mask.at(x, y) ? 1 : 0;
  }
  return count;
}

class RepairedCapture final : public ChangedCapture {
 public:
  RepairedCapture(std::unique_ptr<Capture> source, CaptureInfo info,
                  std::vector<std::vector<Repair>> plans)
      : ChangedCapture(std::move(source), std::move(info)), plans_(std::move(plans)) {}

 private:
  [[nodiscard]] Frame changed(Frame frame) const override {
    if (plans_.empty()) return frame;
    return frame.planes[0].type == SampleType::u8 ? repaired<std::uint8_t>(std::move(frame))
                                                  : repaired<std::uint16_t>(std::move(frame));
  }

  // A copy of each frame for some pixels would take a tenth of the time of ranking.
  template <class T>
  [[nodiscard]] Frame repaired(Frame frame) const {
    if (!frame.is_own()) return copied<T>(frame);
    constexpr auto kSample = static_cast<std::ptrdiff_t>(sizeof(T));
    for (std::size_t p = 0; p < plans_.size(); ++p) {
      auto* samples = const_cast<T*>(frame.planes[p].template row<T>(0));
      repair(plans_[p], static_cast<T>(info().scale.black), samples,
             frame.planes[p].stride_bytes / kSample);
    }
    return frame;
  }

  // Colour differences of YUV stay where they are.
  using Shared = std::pair<std::shared_ptr<const void>, std::shared_ptr<const void>>;

  template <class T>
  [[nodiscard]] Frame copied(const Frame& frame) const {
    const Size size = frame.size();
    const auto plane_elems = static_cast<std::size_t>(size.area_px());
    const auto samples_of = std::make_shared_for_overwrite<T[]>(plane_elems * plans_.size());
    Frame out = frame;
    for (std::size_t p = 0; p < plans_.size(); ++p) {
      T* samples = samples_of.get() + p * plane_elems;
      for (int y = 0; y < size.height_px; ++y) {
        std::memcpy(samples + static_cast<std::ptrdiff_t>(y) * size.width_px,
                    frame.planes[p].template row<T>(y),
                    static_cast<std::size_t>(size.width_px) * sizeof(T));
      }
      repair(plans_[p], static_cast<T>(info().scale.black), samples, size.width_px);
      out.planes[p] = {reinterpret_cast<const std::byte*>(samples), size.width_px, size.height_px,
                       size.width_px * static_cast<std::ptrdiff_t>(sizeof(T)),
                       frame.planes[p].type};
    }
    out.sole_owner = false;
    out.storage = std::make_shared<const Shared>(frame.storage, samples_of);
    return out;
  }

  std::vector<std::vector<Repair>> plans_;
};

std::unique_ptr<Capture> with_note(std::unique_ptr<Capture> source,
                                   std::vector<std::vector<Repair>> plans, std::string note) {
  CaptureInfo info = source->info();
  info.notes.push_back(std::move(note));
  return std::make_unique<RepairedCapture>(std::move(source), std::move(info), std::move(plans));
}

}  // namespace

std::vector<DefectMask> find_defects(const CaptureInfo& info, SensorSum sum) {
  std::vector<DefectMask> masks;
  const int step = info.colour == capture::Colour::cfa ? 2 : 1;
  const bool large = std::min(info.size.width_px, info.size.height_px) > 4 * step;
  if (!large || sum.all_frames() < kFewestFrames) return masks;
  for (const Plane& plane : std::move(sum).mean()) {
    DefectMask mask(info.size);
    mark_outstanding(plane, step, mask);
    if (marked(mask) > info.size.area_px() / kMostOfSensor) mask = DefectMask(info.size);
    masks.push_back(std::move(mask));
  }
  return masks;
}

std::unique_ptr<Capture> repaired(std::unique_ptr<Capture> source, SensorSum sum) {
  if (source->info().cfa_doubtful) {
    return with_note(
        std::move(source), {},
        "no search for hot and cold pixels: the colour filters are doubtful; give --cfa");
  }
  const int step = source->info().colour == capture::Colour::cfa ? 2 : 1;
  std::vector<std::vector<Repair>> plans;
  std::size_t count = 0;
  for (const DefectMask& mask : find_defects(source->info(), std::move(sum))) {
    plans.push_back(plan_repairs(mask, step));
    count += plans.back().size();
  }
  if (count == 0) return source;
  return with_note(std::move(source), std::move(plans),
                   fmt::format("{}, found in the capture itself, {} repaired; a dark finds more",
                               counted(static_cast<std::int64_t>(count), "hot or cold pixel"),
                               count == 1 ? "is" : "are"));
}

}  // namespace lull::calibrate

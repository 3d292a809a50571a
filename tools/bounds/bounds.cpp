#include "bounds/bounds.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numeric>

#include "align/field_kernels.h"
#include "align/padded_frame.h"
#include "core/error.h"
#include "core/parallel.h"
#include "quality/luminance.h"

namespace lull::bounds {

namespace {

constexpr double kShares[] = {0.03, 0.06, 0.1, 0.2, 0.4, 0.7, 1.0};

// A sum of warped frames; places that no frame shows stay zero.
class Sum {
 public:
  explicit Sum(Size size) : light_(size), weight_(size) {}

  void add(const Plane& light, const Plane& weight) {
    lull::add(light_.view(), light.view());
    lull::add(weight_.view(), weight.view());
  }

  [[nodiscard]] Plane mean() const {
    Plane out(light_.size());
    for (int y = 0; y < out.height(); ++y) {
      for (int x = 0; x < out.width(); ++x) {
        const float w = weight_.row(y)[x];
        out.row(y)[x] = w > 0 ? light_.row(y)[x] / w : 0;
      }
    }
    return out;
  }

 private:
  Plane light_;
  Plane weight_;
};

// The frame as it would be without its displacements, and 1 where it shows something.
void warp(const align::PaddedFrame& frame, Displacement shift, const lab::NodeField* field,
          Plane& light, Plane& weight) {
  const Size size = frame.size();
  parallel_for(size.height_px, [&](std::int64_t row_number) {
    const int y = static_cast<int>(row_number);
    const auto width = static_cast<std::size_t>(size.width_px);
    std::vector<float> px(width);
    std::vector<float> py(width);
    for (int x = 0; x < size.width_px; ++x) {
      const Displacement local = field == nullptr ? Displacement{} : field->at(x, y);
      const auto i = static_cast<std::size_t>(x);
      px[i] = static_cast<float>(x + shift.x_px + local.x_px);
      py[i] = static_cast<float>(y + shift.y_px + local.y_px);
      const bool inside = px[i] >= 0 && py[i] >= 0 &&
                          px[i] <= static_cast<float>(size.width_px - 1) &&
                          py[i] <= static_cast<float>(size.height_px - 1);
      weight.row(y)[x] = inside ? 1.0F : 0.0F;
    }
    align::kernels::sample_cubic()(frame.origin(), frame.stride_elems(), px.data(), py.data(),
                                   size.width_px, static_cast<float>(size.width_px),
                                   static_cast<float>(size.height_px), light.row(y));
    for (int x = 0; x < size.width_px; ++x) light.row(y)[x] *= weight.row(y)[x];
  });
}

// The displacement of the frame as a whole: what a truth calls shift need not hold all of it.
Displacement whole_shift(const lab::FrameTruth& frame, const lab::NodeField& field, Size size) {
  Displacement sum;
  int count = 0;
  for (int y = 0; y < size.height_px; y += lab::NodeField::kStep) {
    for (int x = 0; x < size.width_px; x += lab::NodeField::kStep) {
      sum = sum + field.at(x, y);
      ++count;
    }
  }
  return frame.shift + Displacement{sum.x_px / count, sum.y_px / count};
}

// Place of every frame in the order of true sharpness; frames with a fault have none.
std::vector<std::size_t> places(const std::vector<lab::FrameTruth>& frames, std::size_t& usable) {
  std::vector<std::size_t> order;
  for (std::size_t i = 0; i < frames.size(); ++i) {
    if (frames[i].fault.empty()) order.push_back(i);
  }
  usable = order.size();
  if (usable == 0) throw NothingUsable("the truth lists a fault for every frame");
  std::stable_sort(order.begin(), order.end(), [&](std::size_t a, std::size_t b) {
    return frames[a].strehl_tilt_removed > frames[b].strehl_tilt_removed;
  });
  std::vector<std::size_t> out(frames.size(), frames.size());
  for (std::size_t place = 0; place < order.size(); ++place) out[order[place]] = place;
  return out;
}

}  // namespace

std::vector<Bound> make_bounds(capture::FrameStore& store,
                               const std::vector<lab::FrameTruth>& frames,
                               const std::vector<lab::NodeField>& fields,
                               const Progress& progress) {
  std::size_t usable = 0;
  const auto place = places(frames, usable);
  const Size size = store.info().size;
  const lab::NodeField nodes(size.width_px, size.height_px);
  if (fields.empty() || fields[0].columns != nodes.columns || fields[0].rows != nodes.rows) {
    throw InputError(fmt::format("{}: its frames of {} x {} px do not have the size of the truth",
                                 store.info().path, size.width_px, size.height_px));
  }
  Sum all(size);
  Plane best(size);
  std::vector<Sum> shifted;
  std::vector<Sum> warped;
  for ([[maybe_unused]] const double share : kShares) {
    shifted.emplace_back(size);
    warped.emplace_back(size);
  }
  quality::LuminanceBuffer buffer;
  align::PaddedFrame padded;
  Plane light(size);
  Plane weight(size);
  for (FrameIndex index = 0;; ++index) {
    const auto next = store.next_frames(1);
    if (next.empty()) break;
    const auto& frame = next.front().frame;
    progress.step("bounds", index, static_cast<std::int64_t>(frames.size()));
    const auto i = static_cast<std::size_t>(index);
    if (!frame.ok() || i >= frames.size() || place[i] >= usable) continue;
    const quality::Luminance luminance = quality::luminance(frame.value(), store.info(), buffer);
    padded.assign(luminance.view, luminance.scale);
    warp(padded, {}, nullptr, light, weight);
    all.add(light, weight);
    if (place[i] == 0) best = Plane::copy_of(light.view());
    const auto add_to = [&](std::vector<Sum>& sums) {
      for (std::size_t k = 0; k < sums.size(); ++k) {
        if (static_cast<double>(place[i]) < std::ceil(kShares[k] * static_cast<double>(usable)))
          sums[k].add(light, weight);
      }
    };
    warp(padded, whole_shift(frames[i], fields[i], size), nullptr, light, weight);
    add_to(shifted);
    warp(padded, frames[i].shift, &fields[i], light, weight);
    add_to(warped);
  }
  std::vector<Bound> out;
  out.push_back({"mean", 1, all.mean()});
  out.push_back({"best frame", 1 / static_cast<double>(usable), std::move(best)});
  for (std::size_t k = 0; k < std::size(kShares); ++k) {
    out.push_back({"shift and add", kShares[k], shifted[k].mean()});
    out.push_back({"oracle", kShares[k], warped[k].mean()});
  }
  return out;
}

}  // namespace lull::bounds

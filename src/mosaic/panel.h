#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "merge/luminance.h"

namespace lull::mosaic {

/// A panel's place in the order in which panels were given.
using PanelIndex = std::size_t;

/// What a panel shows: 1 or 3 channels, each with half the difference of its half stacks, which is
/// empty for pictures without halves.
using PanelPicture = std::vector<merge::Light>;

/// Reads a panel from its file. Called from one thread.
using LoadPanel = std::function<PanelPicture(PanelIndex)>;

/// Mean of the channels' light.
[[nodiscard]] Plane luminance_of(const PanelPicture& picture);
[[nodiscard]] Plane luminance_of(const std::vector<Plane>& channels);

/// A panel reduced by a whole number, which is kept while panels come and go.
struct Sketch {
  Size panel;                ///< size in full
  int side = 1;              ///< px of the panel for one of the sketch
  std::vector<Plane> light;  ///< of each channel: means over squares
  bool has_halves = false;

  /// Of a place of the panel.
  [[nodiscard]] Displacement seen_at(Displacement place) const {
    const auto reduced = [this](double px) { return (px + 0.5) / side - 0.5; };
    return {reduced(place.x_px), reduced(place.y_px)};
  }

  /// Of a place of the sketch, in the panel.
  [[nodiscard]] Displacement in_full(Displacement place) const {
    const auto full = [this](double px) { return (px + 0.5) * side - 0.5; };
    return {full(place.x_px), full(place.y_px)};
  }
};

/// Longest side of a sketch, px.
inline constexpr int kSketchPx = 640;

[[nodiscard]] Sketch sketch_of(const PanelPicture& picture);

/// Panels as they are needed, within a bound of memory. The one that was used longest ago goes
/// first. One thread.
template <class Value>
class Shelf {
 public:
  using Make = std::function<Value(PanelIndex)>;
  using Bytes = std::function<double(const Value&)>;

  /// @param most_bytes  held here; at least two are held, whatever they take.
  Shelf(Make make, Bytes bytes, double most_bytes)
      : make_(std::move(make)), bytes_(std::move(bytes)), most_bytes_(most_bytes) {}

  [[nodiscard]] std::shared_ptr<const Value> take(PanelIndex panel) {
    for (std::size_t i = 0; i < held_.size(); ++i) {
      if (held_[i].panel != panel) continue;
      const Held found = held_[i];
      held_.erase(held_.begin() + static_cast<std::ptrdiff_t>(i));
      held_.push_back(found);
      return found.value;
    }
    auto value = std::make_shared<const Value>(make_(panel));
    held_.push_back({panel, value, bytes_(*value)});
    double sum = 0;
    for (const Held& held : held_) sum += held.bytes;
    while (held_.size() > 2 && sum > most_bytes_) {
      sum -= held_.front().bytes;
      held_.erase(held_.begin());
    }
    return value;
  }

 private:
  struct Held {
    PanelIndex panel = 0;
    std::shared_ptr<const Value> value;
    double bytes = 0;
  };

  Make make_;
  Bytes bytes_;
  double most_bytes_;
  std::vector<Held> held_;  ///< the last was used last
};

}  // namespace lull::mosaic

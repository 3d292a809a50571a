#pragma once

#include <algorithm>
#include <cstdint>

namespace lull {

/// Position of a frame in its capture, from 0. Frames that could not be decoded count.
using FrameIndex = std::int64_t;

struct Size {
  int width_px = 0;
  int height_px = 0;

  [[nodiscard]] std::int64_t area_px() const {
    return static_cast<std::int64_t>(width_px) * height_px;
  }

  friend bool operator==(const Size&, const Size&) = default;
};

/// A difference of two places in pixels, +x right, +y down, where no direction between a frame and
/// its reference is meant.
struct Displacement {
  double x_px = 0;
  double y_px = 0;

  friend Displacement operator+(Displacement a, Displacement b) {
    return {a.x_px + b.x_px, a.y_px + b.y_px};
  }

  friend Displacement operator-(Displacement a, Displacement b) {
    return {a.x_px - b.x_px, a.y_px - b.y_px};
  }

  friend bool operator==(const Displacement&, const Displacement&) = default;
};

/// Maps a frame point to the reference: place in the reference minus place in the frame, px. This
/// is what tables call the shift of a frame.
struct Shift {
  double x_px = 0;
  double y_px = 0;

  friend bool operator==(const Shift&, const Shift&) = default;
};

/// Position of the object in a frame: position in the frame minus position in the reference, px.
/// Tracking and alignment find it; frames are sampled at it.
struct FrameOffset {
  double x_px = 0;
  double y_px = 0;

  /// The opposite direction; the only place where the sign is turned.
  [[nodiscard]] Shift shift() const { return {0.0 - x_px, 0.0 - y_px}; }

  /// For arithmetic with places.
  [[nodiscard]] Displacement displacement() const { return {x_px, y_px}; }

  friend FrameOffset operator+(FrameOffset a, FrameOffset b) {
    return {a.x_px + b.x_px, a.y_px + b.y_px};
  }

  /// How far the object moved from one frame to another, or against another origin.
  friend FrameOffset operator-(FrameOffset a, FrameOffset b) {
    return {a.x_px - b.x_px, a.y_px - b.y_px};
  }

  friend bool operator==(const FrameOffset&, const FrameOffset&) = default;
};

/// A pixel, or the first one of a patch.
struct Place {
  int x = 0;
  int y = 0;
};

/// Half-open box of pixels [x0, x1) x [y0, y1).
struct Box {
  int x0 = 0, y0 = 0, x1 = 0, y1 = 0;

  [[nodiscard]] int width_px() const { return x1 - x0; }

  [[nodiscard]] int height_px() const { return y1 - y0; }

  [[nodiscard]] bool empty() const { return x1 <= x0 || y1 <= y0; }

  [[nodiscard]] Box intersection(const Box& other) const {
    return {std::max(x0, other.x0), std::max(y0, other.y0), std::min(x1, other.x1),
            std::min(y1, other.y1)};
  }

  friend bool operator==(const Box&, const Box&) = default;
};

}  // namespace lull

#pragma once

#include <cstddef>
#include <memory>
#include <span>
#include <vector>

#include "core/assert.h"
#include "core/geometry.h"

namespace lull {

/// Read-only view of H x W float samples, row-major; stride in elements. Linear, 1.0 = full scale
/// of the source's true bit depth. Integer coordinate = pixel centre, +x right, +y down.
struct PlaneView {
  const float* data = nullptr;
  int width_px = 0;
  int height_px = 0;
  std::ptrdiff_t stride_elems = 0;

  [[nodiscard]] const float* row(int y) const { return data + y * stride_elems; }

  [[nodiscard]] float at(int x, int y) const {
    LULL_ASSERT(x >= 0 && x < width_px && y >= 0 && y < height_px);
    return row(y)[x];
  }

  [[nodiscard]] Size size() const { return {width_px, height_px}; }

  [[nodiscard]] PlaneView crop(const Box& box) const {
    LULL_ASSERT(box.x0 >= 0 && box.y0 >= 0 && box.x1 <= width_px && box.y1 <= height_px);
    return {row(box.y0) + box.x0, box.width_px(), box.height_px(), stride_elems};
  }
};

/// The same, writable.
struct MutablePlaneView {
  float* data = nullptr;
  int width_px = 0;
  int height_px = 0;
  std::ptrdiff_t stride_elems = 0;

  [[nodiscard]] float* row(int y) const { return data + y * stride_elems; }

  [[nodiscard]] Size size() const { return {width_px, height_px}; }

  [[nodiscard]] MutablePlaneView crop(const Box& box) const {
    LULL_ASSERT(box.x0 >= 0 && box.y0 >= 0 && box.x1 <= width_px && box.y1 <= height_px);
    return {row(box.y0) + box.x0, box.width_px(), box.height_px(), stride_elems};
  }

  operator PlaneView() const {
    return {data, width_px, height_px, stride_elems};
  }  // NOLINT: a view of a view
};

/// Owner of H x W float samples; rows are 64-byte aligned. Move-only: copies are spelled out.
class Plane {
 public:
  Plane() = default;
  /// All samples zero. @throws std::bad_alloc; sizes must be >= 0.
  Plane(int width_px, int height_px);

  explicit Plane(Size size) : Plane(size.width_px, size.height_px) {}

  [[nodiscard]] static Plane copy_of(PlaneView source);

  [[nodiscard]] int width() const { return width_px_; }

  [[nodiscard]] int height() const { return height_px_; }

  [[nodiscard]] Size size() const { return {width_px_, height_px_}; }

  [[nodiscard]] bool empty() const { return width_px_ == 0 || height_px_ == 0; }

  [[nodiscard]] const float* row(int y) const { return data_.get() + y * stride_elems_; }

  [[nodiscard]] float* row(int y) { return data_.get() + y * stride_elems_; }

  [[nodiscard]] PlaneView view() const {
    return {data_.get(), width_px_, height_px_, stride_elems_};
  }

  [[nodiscard]] MutablePlaneView view() {
    return {data_.get(), width_px_, height_px_, stride_elems_};
  }

  void fill(float value);

 private:
  struct Free {
    void operator()(float* memory) const;
  };

  std::unique_ptr<float, Free> data_;
  int width_px_ = 0;
  int height_px_ = 0;
  std::ptrdiff_t stride_elems_ = 0;
};

/// target += source, sample by sample. Equal sizes.
void add(MutablePlaneView target, PlaneView source);

/// The mean of planes of equal sizes. @param planes  at least one.
[[nodiscard]] Plane mean_plane(const std::vector<PlaneView>& planes);

/// first + factor second, sample by sample. Equal sizes.
[[nodiscard]] Plane weighted_sum(PlaneView first, float factor, PlaneView second);

/// target *= factor, sample by sample.
void scale(MutablePlaneView target, float factor);

}  // namespace lull

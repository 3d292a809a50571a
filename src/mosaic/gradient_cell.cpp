#include "mosaic/gradient_cell.h"

#include <algorithm>
#include <cmath>

namespace lull::mosaic {

namespace {

constexpr double kMostPx = 3;        // of one step
constexpr double kLeastAlike = 0.6;  // a correlation of 0.43 of both panels' gradients
constexpr double kDamping = 1e-3;    // of the gradients: keeps what has no detail where it is
// Of the Laplacian's square: a blur that explains all of a displacement leaves a hundredth of its
// information.
constexpr double kBlurDamping = 0.01;

}  // namespace

GradientCell::GradientCell(const Plane& first, const Plane& second, const Plane& both, int left,
                           int top, int side_px)
    : side_px_(side_px) {
  for (int y = top; y < top + side_px; ++y) {
    for (int x = left; x < left + side_px; ++x) {
      if (both.row(y)[x] != 0) add(first, second, x, y);
    }
  }
  raw_ = gradients_.xx + gradients_.yy;
  solve_for_blur();
}

void GradientCell::add(const Plane& first, const Plane& second, int x, int y) {
  struct Slopes {
    double across;
    double down;
    double laplacian;
  };

  const auto slopes_of = [x, y](const Plane& plane) {
    const auto left = static_cast<double>(plane.row(y)[x - 1]);
    const auto right = static_cast<double>(plane.row(y)[x + 1]);
    const auto above = static_cast<double>(plane.row(y - 1)[x]);
    const auto below = static_cast<double>(plane.row(y + 1)[x]);
    return Slopes{0.5 * (right - left), 0.5 * (below - above),
                  left + right + above + below - 4 * static_cast<double>(plane.row(y)[x])};
  };
  const Slopes a = slopes_of(first);
  const Slopes b = slopes_of(second);
  const double across = 0.5 * (a.across + b.across);
  const double down = 0.5 * (a.down + b.down);
  const double laplacian = 0.5 * (a.laplacian + b.laplacian);
  const double off = static_cast<double>(first.row(y)[x] - second.row(y)[x]);
  common_ += a.across * b.across + a.down * b.down;
  gradients_.xx += across * across;
  gradients_.xy += across * down;
  gradients_.yy += down * down;
  pull_.x_px += across * off;
  pull_.y_px += down * off;
  square_ += off * off;
  blur_.x_px += across * laplacian;
  blur_.y_px += down * laplacian;
  blur_square_ += laplacian * laplacian;
  blur_pull_ += laplacian * off;
  ++count_;
}

// Eliminates the share of the Laplacian from the normal equations (Schur's complement).
void GradientCell::solve_for_blur() {
  if (blur_square_ <= 0) return;
  const double inverse = 1 / (blur_square_ * (1 + kBlurDamping));
  gradients_.xx -= blur_.x_px * blur_.x_px * inverse;
  gradients_.xy -= blur_.x_px * blur_.y_px * inverse;
  gradients_.yy -= blur_.y_px * blur_.y_px * inverse;
  pull_.x_px -= blur_.x_px * blur_pull_ * inverse;
  pull_.y_px -= blur_.y_px * blur_pull_ * inverse;
  square_ -= blur_pull_ * blur_pull_ * inverse;
}

// Of gradients whose correlation is r, the product is 2 r / (1 + r) of the square of their mean.
bool GradientCell::is_common() const { return common_ > kLeastAlike * raw_; }

Displacement GradientCell::off() const {
  const double damping = kDamping * gradients_.mean() + 1e-30;
  const double xx = gradients_.xx + damping;
  const double yy = gradients_.yy + damping;
  const double determinant = xx * yy - gradients_.xy * gradients_.xy;
  Displacement out{(yy * pull_.x_px - gradients_.xy * pull_.y_px) / determinant,
                   (xx * pull_.y_px - gradients_.xy * pull_.x_px) / determinant};
  const double far = std::hypot(out.x_px, out.y_px);
  if (far > kMostPx) out = {out.x_px * kMostPx / far, out.y_px * kMostPx / far};
  return out;
}

double GradientCell::variance() const {
  const Displacement moved = off();
  const double unexplained = square_ - moved.x_px * pull_.x_px - moved.y_px * pull_.y_px;
  return std::max(unexplained, 1e-6 * square_) / std::max(count_, 1);
}

}  // namespace lull::mosaic

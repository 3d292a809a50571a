#include "run/piecewise_join.h"

#include <utility>

#include "spectrum/sampling.h"
#include "stack/picture_set.h"

namespace lull::run {

namespace {

// All that is turned, in one order.
template <class Result, class Visit>
void for_planes(Result& result, const Visit& visit) {
  visit(result.picture);
  for (auto& half : result.halves) visit(half);
  for (auto& half : result.selected) visit(half);
  for (auto& colour : result.colours) {
    visit(colour.picture);
    for (auto& half : colour.halves) visit(half);
  }
}

// Rings of the ratio are the same for all stacks. Sums of powers: each counts as the detail in it.
void add_ratio(std::vector<spectrum::RatioRing>& sums,
               const std::vector<spectrum::RatioRing>& more) {
  if (sums.size() != more.size()) return;
  for (std::size_t k = 0; k < sums.size(); ++k) {
    sums[k].kept_power += more[k].kept_power;
    sums[k].frame_power += more[k].frame_power;
    sums[k].frame_noise += more[k].frame_noise;
    sums[k].mean_power += more[k].mean_power;
    sums[k].capture_power += more[k].capture_power;
    sums[k].capture_noise += more[k].capture_noise;
    sums[k].capture_mean_power += more[k].capture_mean_power;
  }
}

void add_frames(stack::NodeMap& sums, const stack::NodeMap& more, Displacement to_more) {
  for (int row = 0; row < sums.values.height(); ++row) {
    for (int column = 0; column < sums.values.width(); ++column)
      sums.values.row(row)[column] +=
          more.nearest(sums.x0_px + column * sums.step_px + to_more.x_px,
                       sums.y0_px + row * sums.step_px + to_more.y_px);
  }
}

}  // namespace

void PiecewiseJoin::add(stack::StackResult&& result, globe::GlobePicture picture) {
  for_planes(std::as_const(result),
             [&](const Plane& plane) { picture.planes.push_back(plane.view()); });
  derotation_.add(picture);
  const globe::GlobePlace place = picture.view.place();
  if (weight_ > 0) {
    add_figures(result, place);
  } else {
    whole_ = std::move(result);
    place_ = place;
    for (auto& colour : whole_.colours) {
      colour.dispersion.x_px *= picture.weight;
      colour.dispersion.y_px *= picture.weight;
    }
    whole_.local_shift_rms_px *= picture.weight;
  }
  weight_ += picture.weight;
}

void PiecewiseJoin::add_figures(const stack::StackResult& other, const globe::GlobePlace& place) {
  const auto weight = static_cast<double>(other.kept.size());
  for (std::size_t c = 0; c < whole_.colours.size(); ++c) {
    whole_.colours[c].dispersion.x_px += weight * other.colours[c].dispersion.x_px;
    whole_.colours[c].dispersion.y_px += weight * other.colours[c].dispersion.y_px;
  }
  whole_.local_shift_rms_px += weight * other.local_shift_rms_px;
  whole_.outliers += other.outliers;
  whole_.kept.insert(whole_.kept.end(), other.kept.begin(), other.kept.end());
  add_ratio(whole_.ratio, other.ratio);
  add_frames(whole_.effective_frames, other.effective_frames,
             {place.x_px - place_.x_px, place.y_px - place_.y_px});
}

stack::StackResult PiecewiseJoin::finish() && {
  globe::Derotated turned = derotation_.finish();
  std::size_t at = 0;
  for_planes(whole_, [&](Plane& plane) { plane = std::move(turned.planes[at++]); });
  for (auto& colour : whole_.colours) {
    colour.dispersion.x_px /= weight_;
    colour.dispersion.y_px /= weight_;
  }
  whole_.local_shift_rms_px /= weight_;
  // What lies beyond the edges of the pieces is not turned along, and is dark sky.
  whole_.surroundings = {};
  for (auto& point : whole_.sampling) point.gain *= spectrum::spline_transfer(point.frequency);
  whole_.frc =
      spectrum::fourier_ring_correlation(whole_.selected[0].view(), whole_.selected[1].view());
  whole_.noise = stack::noise_between(whole_.halves[0].view(), whole_.halves[1].view());
  const auto frames = static_cast<std::int64_t>(whole_.kept.size());
  whole_.steps = {{frames, whole_.frc.information_bits(), whole_.frc.resolution().value_or(0), {}}};
  return std::move(whole_);
}

}  // namespace lull::run

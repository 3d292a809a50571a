#include "lab/frame_maker.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <numbers>

#include "core/error.h"
#include "lab/scene.h"

namespace lull::lab {

namespace {

constexpr double kPi = std::numbers::pi;
constexpr int kScreenSide = 2048;
constexpr int kTileSpacingPx = 64;
constexpr int kFurthestPx = 1500;  // that the picture may wander

// Three standard deviations and more of the tilt: Zernike tilt is sqrt(0.182) lambda/D (D/r0)^(5/6)
// an axis (Noll 1976: 0.449 (D/r0)^(5/3) rad^2).
double widest_tilt_px(const Parameters& p) {
  return 3.5 * std::sqrt(0.182) * std::pow(p.air.worst_d_over_r0(), 5.0 / 6) /
         p.cutoff_cycles_per_px();
}

double duration_s(const Parameters& p) { return p.frames / p.camera.frames_per_s; }

int margin_px(const Parameters& p, const Mount& mount, const Optics& optics) {
  double furthest = 0;
  const double corner = 0.5 * std::hypot(p.width_px, p.height_px);
  for (int i = 0; i < 2 * p.frames; ++i) {
    const double t = 0.5 * i / p.camera.frames_per_s;
    const Displacement s = mount.at(t);
    furthest = std::max(
        furthest, std::hypot(s.x_px, s.y_px) + corner * std::abs(std::sin(mount.turn_rad(t))));
  }
  if (furthest > kFurthestPx) {
    throw UsageError(fmt::format(
        "the mount moves the picture by up to {:.0f} px; at most {} are simulated. Reduce drift, "
        "jumps, rotation or frames",
        furthest, kFurthestPx));
  }
  const double psf = 0.5 * optics.psf_side / optics.fineness;
  return NodeField::kRim + 8 * static_cast<int>((furthest + widest_tilt_px(p) + psf) / 8 + 1);
}

}  // namespace

// One exposure is a mean over instants.
struct FrameMaker::Exposure {
  std::vector<Air::Instant> instants;
  std::vector<Displacement> mount;  ///< at each instant
  Displacement mean_mount;
  double turn_rad = 0;
  Displacement second;  ///< of the second body, from the centre

  [[nodiscard]] float share() const { return 1 / static_cast<float>(instants.size()); }

  [[nodiscard]] Displacement mean_tilt(const Air& air, double x_px, double y_px) const {
    Displacement sum;
    for (const Air::Instant& instant : instants) sum = sum + air.tilt(instant, x_px, y_px);
    const double count = static_cast<double>(instants.size());
    return {sum.x_px / count, sum.y_px / count};
  }
};

FrameMaker::FrameMaker(const Parameters& p, const GivenScene* given)
    : parameters_(p),
      optics_(p),
      air_(p, optics_.reference, kScreenSide),
      mount_(p.mount, p.recording_seed(), duration_s(p)),
      canvas_{p.width_px, p.height_px, margin_px(p, mount_, optics_), optics_.fineness} {
  if (p.scene.turns()) cover_.emplace(p.scene, p.seed);
  scenes_ = given != nullptr ? scenes_of(given->light(canvas_)) : scenes_at(0);
  if (p.scene.second.light > 0)
    second_.emplace(second_body(p.scene.second, canvas_), kTileSpacingPx, optics_.psf_side);
  const double direction = p.air.zenith_direction_deg * kPi / 180;
  for (const double wavelength : p.wavelengths_m()) {
    const double px = dispersion_arcsec(wavelength, p.telescope.wavelength_m, p.air) /
                      p.telescope.pixel_scale_arcsec;
    dispersion_.push_back({px * std::cos(direction), px * std::sin(direction)});
  }
  if (given != nullptr) {
    brightest_ = given->brightest;
    return;
  }
  float most = 0;
  for (std::size_t c = 0; c < scenes_.size(); ++c) {
    const Plane plane = perfect(c, 0);
    for (int y = 0; y < plane.height(); ++y)
      most = std::max(most, *std::max_element(plane.row(y), plane.row(y) + plane.width()));
  }
  brightest_ = static_cast<double>(most);
}

FrameMaker::Scenes FrameMaker::scenes_of(const std::vector<Plane>& light) const {
  Scenes scenes;
  for (const Plane& plane : light) scenes.emplace_back(plane, kTileSpacingPx, optics_.psf_side);
  return scenes;
}

FrameMaker::Scenes FrameMaker::scenes_at(double since_s) const {
  return scenes_of(cover_ ? planet(parameters_, *cover_, canvas_, since_s)
                          : make_scene(parameters_, canvas_));
}

FrameMaker::Exposure FrameMaker::expose(double time_s) const {
  Exposure out;
  const int count = air_.instants_per_exposure();
  for (int k = 0; k < count; ++k) {
    const double t = time_s + parameters_.camera.exposure_s * (k + 0.5) / count;
    out.instants.push_back(air_.at(t));
    out.mount.push_back(mount_.at(t));
    out.mean_mount = out.mean_mount + out.mount.back();
  }
  out.mean_mount = {out.mean_mount.x_px / count, out.mean_mount.y_px / count};
  out.turn_rad = mount_.turn_rad(time_s + parameters_.camera.exposure_s / 2);
  const SecondBody& second = parameters_.scene.second;
  const double since = time_s - duration_s(parameters_) / 2;
  out.second = {second.x_px + second.x_px_s * since, second.y_px + second.y_px_s * since};
  return out;
}

void FrameMaker::find_field(const Exposure& exposure, Frame& out) const {
  out.field = NodeField(parameters_.width_px, parameters_.height_px);
  const double cx = 0.5 * (parameters_.width_px - 1);
  const double cy = 0.5 * (parameters_.height_px - 1);
  const double c = std::cos(exposure.turn_rad);
  const double s = std::sin(exposure.turn_rad);
  Displacement sum;
  int inside = 0;
  for (int r = 0; r < out.field.rows; ++r) {
    for (int k = 0; k < out.field.columns; ++k) {
      const double x = NodeField::place(k) - cx;
      const double y = NodeField::place(r) - cy;
      Displacement moved = exposure.mean_tilt(air_, x, y);
      moved = moved + Displacement{c * x - s * y - x, s * x + c * y - y};
      const auto i = static_cast<std::size_t>(std::ptrdiff_t{r} * out.field.columns + k);
      out.field.x[i] = static_cast<float>(moved.x_px);
      out.field.y[i] = static_cast<float>(moved.y_px);
      if (std::abs(x) > cx || std::abs(y) > cy) continue;
      sum = sum + moved;
      ++inside;
    }
  }
  const Displacement mean{sum.x_px / inside, sum.y_px / inside};
  for (float& value : out.field.x) value -= static_cast<float>(mean.x_px);
  for (float& value : out.field.y) value -= static_cast<float>(mean.y_px);
  out.shift = exposure.mean_mount + mean;
}

// Adds the PSF of light from a place, without its mean tilt. @return its Strehl ratio.
double FrameMaker::tile_psf(const Exposure& exposure, const Optics::Colour& colour, double x_px,
                            double y_px, float weight, Workspace& work) const {
  const Displacement tilt = exposure.mean_tilt(air_, x_px, y_px);
  const double rad_per_px = 2 * kPi * optics_.fineness / optics_.psf_side;
  double strehl = 0;
  for (std::size_t k = 0; k < exposure.instants.size(); ++k) {
    air_.phase(exposure.instants[k], x_px, y_px, colour.wavelength_ratio, colour.pupil,
               work.phase_rad);
    const Displacement moved = exposure.mount[k] - exposure.mean_mount - tilt;
    const auto slope_x = static_cast<float>(rad_per_px * moved.x_px);
    const auto slope_y = static_cast<float>(rad_per_px * moved.y_px);
    for (std::size_t i = 0; i < colour.pupil.points.size(); ++i) {
      const Pupil::Point& point = colour.pupil.points[i];
      work.phase_rad[i] +=
          slope_x * static_cast<float>(point.x) + slope_y * static_cast<float>(point.y);
    }
    work.psf_maker[0].add(colour.pupil, work.phase_rad, weight * exposure.share(), work.psf);
    strehl += work.psf_maker[0].strehl_at_centre() * static_cast<double>(exposure.share());
  }
  return strehl;
}

void FrameMaker::blur(const Exposure& exposure, const Scenes& scenes, std::size_t channel,
                      Frame& out, Workspace& work) const {
  const double reach = widest_tilt_px(parameters_) + 4;
  const Box seen_box{
      static_cast<int>(canvas_.from_frame(-out.shift.x_px - reach)),
      static_cast<int>(canvas_.from_frame(-out.shift.y_px - reach)),
      static_cast<int>(canvas_.from_frame(parameters_.width_px - out.shift.x_px + reach)),
      static_cast<int>(canvas_.from_frame(parameters_.height_px - out.shift.y_px + reach))};
  const double strehl = blur_scene(exposure, scenes[channel], channel, seen_box, work);
  const bool reference = channel == scenes_.size() / 2;  // green, or the only one
  if (reference && strehl > 0) out.strehl_tilt_removed = strehl;
  out.light.push_back(seen(work.canvas, canvas_, out.shift + dispersion_[channel], out.field));
  if (second_) add_second(exposure, channel, out, work);
  scale(out.light.back().view(), static_cast<float>(1 / brightest_));
}

// Where the second body is. The air and the turn of the field at the first's place move it, too.
void FrameMaker::add_second(const Exposure& exposure, std::size_t channel, Frame& out,
                            Workspace& work) const {
  const Size whole = canvas_.size();
  blur_scene(exposure, *second_, channel, {0, 0, whole.width_px, whole.height_px}, work);
  const Displacement shift = out.shift + dispersion_[channel] + exposure.second;
  add(out.light.back().view(), seen(work.canvas, canvas_, shift, out.field).view());
}

// Into the canvas of the workspace. @return the mean Strehl ratio of the tiles in the box.
double FrameMaker::blur_scene(const Exposure& exposure, const TileBlur& scene, std::size_t channel,
                              const Box& seen_box, Workspace& work) const {
  work.canvas.fill(0);
  double strehl = 0;
  int tiles = 0;
  const auto& colours = optics_.channels[channel];
  const float weight = 1 / static_cast<float>(colours.size());
  for (const TileBlur::Tile& tile : scene.tiles()) {
    if (!scene.reaches(tile, seen_box)) continue;
    const double x = canvas_.to_frame(tile.middle_x) - 0.5 * (parameters_.width_px - 1);
    const double y = canvas_.to_frame(tile.middle_y) - 0.5 * (parameters_.height_px - 1);
    work.psf.fill(0);
    for (const Optics::Colour& colour : colours)
      strehl += tile_psf(exposure, colour, x, y, weight, work) * static_cast<double>(weight);
    ++tiles;
    scene.add(tile, work.psf, work.canvas, work.blur);
  }
  return tiles > 0 ? strehl / tiles : 0;
}

void FrameMaker::add_strehl(const Exposure& exposure, Frame& out, Workspace& work) const {
  for (const Air::Instant& instant : exposure.instants) {
    air_.phase(instant, 0, 0, 1, optics_.reference, work.phase_rad);
    work.psf_maker[0].add(optics_.reference, work.phase_rad, 0, work.psf);
    out.strehl_on_axis +=
        work.psf_maker[0].strehl_at_centre() * static_cast<double>(exposure.share());
  }
}

FrameMaker::Frame FrameMaker::frame(double time_s, Workspace& work) const {
  if (work.psf_maker.empty()) {
    work.psf_maker.emplace_back(optics_.psf_side);
    work.psf = Plane(optics_.psf_side, optics_.psf_side);
    work.canvas = Plane(canvas_.size());
  }
  Frame out;
  const Exposure exposure = expose(time_s);
  find_field(exposure, out);
  Scenes turned;
  if (parameters_.scene.turns()) turned = scenes_at(time_s - duration_s(parameters_) / 2);
  const Scenes& scenes = turned.empty() ? scenes_ : turned;
  for (std::size_t c = 0; c < scenes.size(); ++c) blur(exposure, scenes, c, out, work);
  add_strehl(exposure, out, work);
  return out;
}

// The picture through the same telescope without air; fine: in the pixels of the canvas.
Plane FrameMaker::perfect(std::size_t channel, int rim_px, bool fine) const {
  PsfMaker maker(optics_.psf_side);
  Plane psf(optics_.psf_side, optics_.psf_side);
  const auto& colours = optics_.channels[channel];
  for (const Optics::Colour& colour : colours) {
    const std::vector<float> flat(colour.pupil.points.size(), 0.0F);
    maker.add(colour.pupil, flat, 1 / static_cast<float>(colours.size()), psf);
  }
  Plane splines(canvas_.size());
  TileBlur::Workspace work;
  for (const TileBlur::Tile& tile : scenes_[channel].tiles())
    scenes_[channel].add(tile, psf, splines, work);
  Canvas wider = canvas_;
  wider.width_px += 2 * rim_px;
  wider.height_px += 2 * rim_px;
  wider.margin_px -= rim_px;
  if (fine) {
    const int f = wider.fineness;
    wider = {wider.width_px * f, wider.height_px * f, wider.margin_px * f, 1};
  }
  Plane out = seen(splines, wider, {}, NodeField(wider.width_px, wider.height_px));
  scale(out.view(), static_cast<float>(1 / brightest_));
  return out;
}

void FrameMaker::fill(Truth& truth) const {
  truth.fineness = optics_.fineness;
  truth.cutoff_cycles_per_px = parameters_.cutoff_cycles_per_px();
  for (const double wavelength : parameters_.wavelengths_m())
    truth.wavelength_ratios.push_back(wavelength / parameters_.telescope.wavelength_m);
  for (std::size_t c = 0; c < scenes_.size(); ++c) {
    truth.picture.push_back(perfect(c, 0));
    truth.extended.push_back(perfect(c, NodeField::kRim));
    if (optics_.fineness > 1) truth.fine.push_back(perfect(c, NodeField::kRim, true));
  }
}

}  // namespace lull::lab

#include "finish/restore.h"

#include <algorithm>
#include <optional>
#include <utility>

#include "core/parallel.h"
#include "finish/dark_sky.h"
#include "finish/detail.h"
#include "finish/own_noise.h"
#include "finish/strength.h"
#include "spectrum/continuation.h"

namespace lull::finish {

namespace {

// Gains above 1 are limited by the noise, those below are not.
struct Parts {
  std::vector<spectrum::FilterPoint> raise;
  std::vector<spectrum::FilterPoint> weaken;
  bool weakens = false;
};

Parts split(const std::vector<spectrum::FilterPoint>& gains) {
  Parts parts{gains, gains, false};
  for (spectrum::FilterPoint& point : parts.raise) point.gain = std::max(point.gain, 1.0);
  for (spectrum::FilterPoint& point : parts.weaken) {
    point.gain = std::min(point.gain, 1.0);
    parts.weakens = parts.weakens || point.gain < 1;
  }
  return parts;
}

Plane weakened(PlaneView picture, const std::vector<spectrum::FilterPoint>& gains) {
  spectrum::Extended large = spectrum::continued(picture);
  spectrum::filter(large.plane, gains);
  return Plane::copy_of(std::as_const(large.plane).view().crop(large.inside));
}

Box moved(const Box& box, int x, int y) { return {box.x0 + x, box.y0 + y, box.x1 + x, box.y1 + y}; }

Box grown(const Box& box, int by) { return {box.x0 - by, box.y0 - by, box.x1 + by, box.y1 + by}; }

Box whole_of(Size size) { return {0, 0, size.width_px, size.height_px}; }

}  // namespace

// What restoring works on: the picture with its surroundings, as far as they are known.
class PreparedRestoration::Canvas {
 public:
  Canvas(const std::vector<PlaneView>& of, const Measurements& measured, Keep keep)
      : measured_(measured), keep_(keep), picture_(whole_of(of.front().size())), channels_(of) {
    if (measured.surroundings) {
      picture_ = measured.surroundings->picture;
      channels_.clear();
      for (const Plane& plane : measured.surroundings->channels) channels_.push_back(plane.view());
    }
    for (std::size_t c = 0; c < channels_.size(); ++c) noise_.push_back(noise_of(c));
    prepared_.resize(channels_.size());
  }

  [[nodiscard]] const Measurements& measured() const { return measured_; }

  [[nodiscard]] bool keeps_all() const { return keep_ == Keep::all; }

  [[nodiscard]] const Box& picture() const { return picture_; }

  [[nodiscard]] Box all() const { return whole_of(channels_.front().size()); }

  [[nodiscard]] std::size_t count() const { return channels_.size(); }

  [[nodiscard]] PlaneView channel(std::size_t c) const { return channels_[c]; }

  [[nodiscard]] const Noise& noise(std::size_t c) const { return noise_[c]; }

  [[nodiscard]] Plane mean() const { return mean_plane(channels_); }

  // restore_detail() of a part of a channel. Different channels at the same time.
  [[nodiscard]] Plane restored(std::size_t c, const std::vector<spectrum::FilterPoint>& gains,
                               const std::vector<PlaceGains>& places, double restraint,
                               const Box& part) {
    if (keep_ == Keep::nothing)
      return PreparedDetail(channels_[c], noise_[c]).restored(gains, places, restraint, part);
    if (!prepared_[c]) prepared_[c].emplace(channels_[c], noise_[c]);
    return prepared_[c]->restored(gains, places, restraint, part);
  }

  // By the ratio, and by the sky where there is one.
  [[nodiscard]] const KnownAir& air() {
    if (air_) return *air_;
    const double resolution = measured_.frc.resolution().value_or(0);
    Blur blur = blur_of_stack(measured_.ratio, resolution);
    std::optional<DarkSky> sky;
    if (resolution > 0) sky = DarkSky::find(mean().view(), wiener_weight(measured_.frc), blur);
    blur = sky ? blur_of_disc(measured_.ratio, resolution, sky->deviance(blur.cutoff))
               : blur_of_field(measured_.ratio, resolution);
    KnownAir& out = air_.emplace(KnownAir{blur, {}});
    for (std::size_t c = 0; c < channels_.size(); ++c)
      out.least_light.push_back(sky ? sky->least_light(channels_[c], noise_[c]) : std::nullopt);
    return out;
  }

 private:
  // Noise beyond the edges is like that inside.
  Noise noise_of(std::size_t channel) {
    if (measured_.noise.empty()) return measured_.white_noise[channel];
    const PlaneView inside = measured_.noise[channel].view();
    if (!measured_.surroundings) return inside;
    extended_noise_.push_back(
        spectrum::mirrored(inside, measured_.surroundings->channels[channel].size(), picture_));
    return std::as_const(extended_noise_).back().view();
  }

  const Measurements& measured_;
  Keep keep_;
  Box picture_;  // where it lies
  std::vector<PlaneView> channels_;
  std::vector<Plane> extended_noise_;  // where there are surroundings
  std::vector<Noise> noise_;  // of each channel; views of the above, or of the measurements
  std::vector<std::optional<PreparedDetail>> prepared_;
  std::optional<KnownAir> air_;
};

namespace {

// By plan, of a part of the canvas.
template <class Canvas>
struct Restore {
  Canvas& canvas;
  double restraint;
  Box part;

  // change(c): channel c, changed.
  template <class Change>
  Restored changed(const Change& change) const {
    Restored out;
    out.channels.resize(canvas.count());
    const auto one = [&](std::int64_t c) {
      out.channels[static_cast<std::size_t>(c)] = change(static_cast<std::size_t>(c));
    };
    if (canvas.keeps_all()) {
      parallel_for(std::ssize(out.channels), one);
    } else {  // one after the other takes less memory
      for (std::int64_t c = 0; c < std::ssize(out.channels); ++c) one(c);
    }
    return out;
  }

  Restored operator()(const KeepDetail&) const {
    return changed([this](std::size_t c) { return Plane::copy_of(canvas.channel(c).crop(part)); });
  }

  Restored operator()(const UndoAir&) const { return (*this)(canvas.air()); }

  Restored operator()(const KnownAir& air) const {
    Restored out = undo([&](double frequency) {
      return air.blur.transfer(frequency) * left_by_sampling(frequency);
    });
    for (std::size_t c = 0; c < out.channels.size(); ++c) {
      if (air.least_light[c])
        limit_darkening(out.channels[c], part, canvas.channel(c), *air.least_light[c]);
    }
    out.blur = air.blur;
    return out;
  }

  Restored operator()(const UndoGaussian& blur) const {
    return undo(gaussian_transfer(blur.fwhm_px));
  }

  // Weakening looks at what lies around the part, as raising does.
  Restored operator()(const DetailCurve& curve) const {
    const std::vector<spectrum::FilterPoint> gains =
        curve_filter(canvas.measured().frc, curve, restraint);
    const Parts parts = split(gains);
    const int reach = parts.weakens ? PreparedDetail::kReachPx : 0;
    const Box around =
        Box{part.x0 - reach, part.y0 - reach, part.x1 + reach, part.y1 + reach}.intersection(
            canvas.all());
    const std::vector<PlaceGains> places =
        places_near(around, [&](std::vector<spectrum::FilterPoint> beyond) {
          return curve_beyond(beyond, curve, restraint);
        });
    Restored out = changed([&](std::size_t c) {
      Plane raised = canvas.restored(c, parts.raise, places, restraint, around);
      if (!parts.weakens) return raised;
      const Plane weak = weakened(raised.view(), parts.weaken);
      return Plane::copy_of(weak.view().crop(moved(part, -around.x0, -around.y0)));
    });
    out.gains = gains;
    return out;
  }

  [[nodiscard]] double left_by_sampling(double frequency) const {
    const auto& sampling = canvas.measured().sampling;
    return sampling.empty() ? 1 : gain_at(sampling, frequency);
  }

  // Without a resolution nothing is certain, and the picture stays as it is.
  [[nodiscard]] Restored undo(const Transfer& transfer) const {
    const spectrum::FrcCurve& frc = canvas.measured().frc;
    std::vector<spectrum::FilterPoint> gains = wiener_filter(frc, transfer, restraint);
    const std::vector<PlaceGains> places =
        places_near(part, [&](std::vector<spectrum::FilterPoint> beyond) {
          return wiener_beyond(std::move(beyond), transfer, restraint);
        });
    Restored out = frc.resolution() ? changed([&](std::size_t c) {
      return canvas.restored(c, gains, places, restraint, part);
    })
                                    : (*this)(KeepDetail{});
    out.gains = std::move(gains);
    return out;
  }

  // Squares that allow more than the whole, as far as the part of the canvas looks at them.
  // gains(beyond): from weight_beyond().
  template <class Gains>
  [[nodiscard]] std::vector<PlaceGains> places_near(const Box& of, const Gains& gains) const {
    const Box near = grown(of, PreparedDetail::kReachPx);
    std::vector<PlaceGains> out;
    for (const FrcSquare& square : canvas.measured().places) {
      const Box box = moved(square.box, canvas.picture().x0, canvas.picture().y0);
      if (box.intersection(near).empty()) continue;
      auto beyond = weight_beyond(square.frc, canvas.measured().frc);
      if (!beyond.empty()) out.push_back({box, gains(std::move(beyond))});
    }
    return out;
  }
};

}  // namespace

Measurements measurements_of_picture(const std::vector<PlaneView>& channels) {
  Measurements measured;
  for (const PlaneView& channel : channels)
    measured.white_noise.push_back(noise_of_picture(channel).sigma);
  measured.frc = noise_of_picture(mean_plane(channels).view()).frc;
  return measured;
}

KnownAir air_of_field(const Measurements& measured, std::size_t channels) {
  const double resolution = measured.frc.resolution().value_or(0);
  return {blur_of_field(measured.ratio, resolution),
          std::vector<std::optional<float>>(channels, std::nullopt)};
}

PreparedRestoration::PreparedRestoration(const std::vector<PlaneView>& channels,
                                         const Measurements& measured, Keep keep)
    : canvas_(std::make_unique<Canvas>(channels, measured, keep)) {}

PreparedRestoration::~PreparedRestoration() = default;
PreparedRestoration::PreparedRestoration(PreparedRestoration&&) noexcept = default;
PreparedRestoration& PreparedRestoration::operator=(PreparedRestoration&&) noexcept = default;

Restored PreparedRestoration::restored(const DetailPlan& plan) {
  Restored out = std::visit(Restore<Canvas>{*canvas_, plan.restraint, canvas_->all()}, plan.how);
  if (canvas_->picture() == canvas_->all()) return out;
  for (Plane& channel : out.channels)
    channel = Plane::copy_of(std::as_const(channel).view().crop(canvas_->picture()));
  return out;
}

const KnownAir& PreparedRestoration::air() { return canvas_->air(); }

Restored PreparedRestoration::restored_part(const DetailPlan& plan, const Box& part) {
  const Box& picture = canvas_->picture();
  return std::visit(Restore<Canvas>{*canvas_, plan.restraint, moved(part, picture.x0, picture.y0)},
                    plan.how);
}

Restored restore(const std::vector<PlaneView>& channels, const Measurements& measured,
                 const DetailPlan& plan) {
  return PreparedRestoration(channels, measured, PreparedRestoration::Keep::nothing).restored(plan);
}

}  // namespace lull::finish

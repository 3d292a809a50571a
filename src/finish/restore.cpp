#include "finish/restore.h"

#include <algorithm>
#include <functional>
#include <optional>
#include <utility>

#include "finish/dark_sky.h"
#include "finish/detail.h"
#include "finish/own_noise.h"
#include "finish/strength.h"
#include "spectrum/continuation.h"

namespace lull::finish {

namespace {

Plane mean_of(const std::vector<PlaneView>& channels) {
  Plane mean = Plane::copy_of(channels.front());
  for (std::size_t c = 1; c < channels.size(); ++c) add(mean.view(), channels[c]);
  scale(mean.view(), 1.0F / static_cast<float>(channels.size()));
  return mean;
}

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

// What restoring works on: the picture with its surroundings, as far as they are known.
struct Canvas {
  std::vector<PlaneView> channels;
  std::vector<Plane> extended_noise;  // where there are surroundings
  std::vector<Noise> noise;           // of each channel; views of the above, or of the measurements
  Box picture;                        // where it lies

  Canvas(const std::vector<PlaneView>& of, const Measurements& measured) {
    const Size size = of.front().size();
    picture = {0, 0, size.width_px, size.height_px};
    channels = of;
    if (measured.surroundings) {
      picture = measured.surroundings->picture;
      channels.clear();
      for (const Plane& plane : measured.surroundings->channels) channels.push_back(plane.view());
    }
    for (std::size_t c = 0; c < channels.size(); ++c) noise.push_back(noise_of(measured, c));
  }

  // Noise beyond the edges is like that inside.
  Noise noise_of(const Measurements& measured, std::size_t channel) {
    if (measured.noise.empty()) return measured.white_noise[channel];
    const PlaneView inside = measured.noise[channel].view();
    if (!measured.surroundings) return inside;
    extended_noise.push_back(
        spectrum::mirrored(inside, measured.surroundings->channels[channel].size(), picture));
    return std::as_const(extended_noise).back().view();
  }
};

// How one channel is changed.
using Change = std::function<Plane(PlaneView, const Noise&)>;

Restored changed(const Canvas& canvas, const Change& change) {
  Restored out;
  for (std::size_t c = 0; c < canvas.channels.size(); ++c)
    out.channels.push_back(change(canvas.channels[c], canvas.noise[c]));
  return out;
}

struct Restore {
  const Canvas& canvas;
  const Measurements& measured;
  double restraint;

  Restored operator()(const KeepDetail&) const {
    Restored out;
    for (const PlaneView& channel : canvas.channels)
      out.channels.push_back(Plane::copy_of(channel));
    return out;
  }

  // By the ratio, and by the sky where there is one.
  Restored operator()(const UndoAir&) const {
    const double resolution = measured.frc.resolution().value_or(0);
    Blur blur = blur_of_stack(measured.ratio, resolution);
    std::optional<DarkSky> sky;
    if (resolution > 0)
      sky = DarkSky::find(mean_of(canvas.channels).view(), wiener_weight(measured.frc), blur);
    blur = sky ? blur_of_disc(measured.ratio, resolution, sky->deviance(blur.cutoff))
               : blur_of_field(measured.ratio, resolution);
    Restored out = undo(
        [&](double frequency) { return blur.transfer(frequency) * left_by_sampling(frequency); });
    for (std::size_t c = 0; sky && c < out.channels.size(); ++c)
      sky->limit_darkening(out.channels[c], canvas.channels[c], canvas.noise[c]);
    out.blur = blur;
    return out;
  }

  Restored operator()(const UndoGaussian& blur) const {
    return undo(gaussian_transfer(blur.fwhm_px));
  }

  Restored operator()(const DetailCurve& curve) const {
    const std::vector<spectrum::FilterPoint> gains = curve_filter(measured.frc, curve, restraint);
    const Parts parts = split(gains);
    Restored out = changed(canvas, [&](PlaneView channel, const Noise& noise) {
      Plane raised = restore_detail(channel, parts.raise, noise, restraint);
      return parts.weakens ? weakened(raised.view(), parts.weaken) : std::move(raised);
    });
    out.gains = gains;
    return out;
  }

  [[nodiscard]] double left_by_sampling(double frequency) const {
    return measured.sampling.empty() ? 1 : gain_at(measured.sampling, frequency);
  }

  // Without a resolution nothing is certain, and the picture stays as it is.
  [[nodiscard]] Restored undo(const Transfer& transfer) const {
    std::vector<spectrum::FilterPoint> gains = wiener_filter(measured.frc, transfer, restraint);
    Restored out = measured.frc.resolution()
                       ? changed(canvas,
                                 [&](PlaneView channel, const Noise& noise) {
                                   return restore_detail(channel, gains, noise, restraint);
                                 })
                       : (*this)(KeepDetail{});
    out.gains = std::move(gains);
    return out;
  }
};

}  // namespace

Measurements measurements_of_picture(const std::vector<PlaneView>& channels) {
  Measurements measured;
  for (const PlaneView& channel : channels)
    measured.white_noise.push_back(noise_of_picture(channel).sigma);
  measured.frc = noise_of_picture(mean_of(channels).view()).frc;
  return measured;
}

Restored restore(const std::vector<PlaneView>& channels, const Measurements& measured,
                 const DetailPlan& plan) {
  const Canvas canvas(channels, measured);
  Restored out = std::visit(Restore{canvas, measured, plan.restraint}, plan.how);
  if (measured.surroundings) {
    for (Plane& channel : out.channels)
      channel = Plane::copy_of(std::as_const(channel).view().crop(canvas.picture));
  }
  return out;
}

}  // namespace lull::finish

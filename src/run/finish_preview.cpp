#include "run/finish_preview.h"

#include <optional>
#include <utility>

#include "run/settled_look.h"

namespace lull::run {

namespace {

constexpr double kPlanesPrepared = 14;  // of a channel: PreparedRestoration::Keep::all
constexpr int kLittlePx = 16;           // a part of which only the gains are wanted
constexpr double kPlanesOfInput = 3;    // stack, noise, surroundings

// What of a look changes black and white of the whole; detail does so little.
std::string colours_of(const Look& look) {
  return print_white_balance(look.white_balance) + " " + std::to_string(look.saturation) + " " +
         std::to_string(static_cast<int>(look.object));
}

files::Picture crop_of(const files::PictureView& picture, const Box& box) {
  files::Picture out;
  for (const PlaneView& channel : picture.channels)
    out.channels.push_back(Plane::copy_of(channel.crop(box)));
  return out;
}

}  // namespace

struct FinishPreview::Cache {
  Cache(const files::PictureView& stack, const finish::Measurements& measured)
      : levels(finish::levels_of(stack.channels)),
        restoration(stack.channels, measured, finish::PreparedRestoration::Keep::all) {}

  finish::Levels levels;  ///< of the stack
  finish::PreparedRestoration restoration;
  std::vector<finish::NoiseCells> noise;  ///< of each channel, once it was asked for
  std::string colours;                    ///< of the looks that `seen` holds for
  std::optional<finish::Levels> seen;
};

FinishPreview::FinishPreview(const std::string& path)
    : name_(path), input_(read_finish_input(path)) {
  cache_ = std::make_unique<Cache>(input_.picture.view(), input_.measured);
}

FinishPreview::~FinishPreview() = default;

double FinishPreview::bytes() const {
  const double planes =
      (kPlanesPrepared + kPlanesOfInput) * static_cast<double>(input_.picture.channels.size());
  return planes * sizeof(float) * static_cast<double>(size().area_px());
}

// With --flatten-limb each pixel depends on the whole disc.
Finished FinishPreview::whole(const Look& look) {
  if (look.limb == LimbLight::flattened)
    return finish_picture(input_.picture.view(), input_.measured, look);
  Finished out;
  out.picture.channels = cache_->restoration.restored(detail_plan(look)).channels;
  finish_channels(look, out);
  finish_colours(look, colour_balance(look, input_.picture.view()), out);
  cache_->seen = finish::levels_of(out.picture.view().channels);
  cache_->colours = colours_of(look);
  finish_tone(look, *cache_->seen, out);
  return out;
}

// The stack without restored detail has nearly the same.
const finish::Levels& FinishPreview::levels_for(const Look& look) {
  if (!cache_->seen || cache_->colours != colours_of(look)) {
    Finished plain;
    plain.picture = crop_of(input_.picture.view(), {0, 0, size().width_px, size().height_px});
    finish_colours(look, colour_balance(look, input_.picture.view()), plain);
    cache_->seen = finish::levels_of(plain.picture.view().channels);
    cache_->colours = colours_of(look);
  }
  return *cache_->seen;
}

// What is moved comes from beside the part.
files::Picture FinishPreview::restored_part(const Look& look, const Box& box) {
  const int margin = look.channel_offsets.margin_px();
  const Box all = {0, 0, size().width_px, size().height_px};
  const Box wider =
      Box{box.x0 - margin, box.y0 - margin, box.x1 + margin, box.y1 + margin}.intersection(all);
  Finished out;
  out.picture.channels = cache_->restoration.restored_part(detail_plan(look), wider).channels;
  if (margin == 0) return std::move(out.picture);
  finish_channels(look, out);
  return crop_of(out.picture.view(),
                 {box.x0 - wider.x0, box.y0 - wider.y0, box.x1 - wider.x0, box.y1 - wider.y0});
}

FinishPreview::Part FinishPreview::part(const Look& asked, const Box& box) {
  check_look(asked);
  Part out;
  out.notes = input_.warnings;
  const Look look = settled_look(asked, input_, name_, out.notes);
  const bool is_whole = box == Box{0, 0, size().width_px, size().height_px};
  if (is_whole || look.limb == LimbLight::flattened) {
    out.finished = whole(look);
    if (!is_whole) out.finished.picture = crop_of(out.finished.picture.view(), box);
  } else {
    out.finished.picture = restored_part(look, box);
    finish_colours(look, colour_balance(look, input_.picture.view()), out.finished);
    finish_tone(look, levels_for(look), out.finished);
  }
  if (input_.stretched) out.finished.transfer = files::Transfer::screen;
  return out;
}

finish::RaisedNoise FinishPreview::raised_noise(const Look& asked) {
  check_look(asked);
  std::vector<std::string> notes;
  const Look look = settled_look(asked, input_, name_, notes);
  const finish::Measurements& measured = input_.measured;
  for (std::size_t c = cache_->noise.size(); c < input_.picture.channels.size(); ++c) {
    const finish::Noise noise = measured.noise.empty() ? finish::Noise(measured.white_noise[c])
                                                       : finish::Noise(measured.noise[c].view());
    cache_->noise.emplace_back(std::as_const(input_.picture.channels[c]).view(), noise);
  }
  const finish::DetailPlan plan = detail_plan(look);
  const Box little =
      Box{0, 0, kLittlePx, kLittlePx}.intersection({0, 0, size().width_px, size().height_px});
  const auto gains = cache_->restoration.restored_part(plan, little).gains;
  finish::RaisedNoise out = cache_->noise.front().raised(gains, plan.restraint, measured.frc);
  for (std::size_t c = 1; c < cache_->noise.size(); ++c)
    out = larger_of(std::move(out), cache_->noise[c].raised(gains, plan.restraint, measured.frc));
  return out;
}

Finished FinishPreview::stack_part(const Box& box) const {
  Finished out;
  out.picture = crop_of(input_.picture.view(), box);
  out.levels = cache_->levels;
  if (input_.stretched) out.transfer = files::Transfer::screen;
  return out;
}

}  // namespace lull::run

#include "run/finish_picture.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <utility>

#include "core/error.h"
#include "files/picture_file.h"
#include "files/share.h"
#include "finish/levels.h"
#include "finish/limb.h"
#include "finish/uncovered.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

// Of linear light: the object fills four fifths at least, whatever restoring detail threw over an
// edge, and what is as bright as that allows is not cut.
constexpr double kHeadroom = 1.25;

nlohmann::json gains_json(const std::vector<spectrum::FilterPoint>& gains) {
  nlohmann::json out = nlohmann::json::array();
  for (const spectrum::FilterPoint& point : gains)
    out.push_back({{"cycles_per_px", point.frequency}, {"gain", point.gain}});
  return out;
}

// 16-bit integers of linear light: 0 stays 0, so that they are proportional to it.
files::Encoding linear_encoding(double brightest, const finish::Levels& seen) {
  const double white = std::min(brightest, kHeadroom * seen.white);
  return {0, white > 0 ? white : 1};
}

// Between what the user gave and what is seen.
finish::Levels levels_for(const Look& look, const finish::Levels& seen) {
  if (!look.black && !look.white) return seen;
  finish::Levels levels{look.black.value_or(seen.shown_as_black()),
                        look.white.value_or(seen.white)};
  if (!look.black) levels.cast = seen.cast;
  if (levels.black < levels.white) return levels;
  if (look.black) return {levels.black, levels.black + 1};
  return {std::min(0.0, levels.white - 1), levels.white};
}

}  // namespace

void require_finite(const files::Picture& picture) {
  for (const Plane& plane : picture.channels) {
    for (int y = 0; y < plane.height(); ++y) {
      const float* row = plane.row(y);
      if (std::all_of(row, row + plane.width(), [](float v) { return std::isfinite(v); })) continue;
      throw NothingUsable(
          "the values of the picture are too large to work with: finishing them gives numbers that "
          "are not finite; scale them so that full scale is 1");
    }
  }
}

nlohmann::json limb_json(const Circle& limb) {
  return {{"x_px", limb.x_px}, {"y_px", limb.y_px}, {"radius_px", limb.radius_px}};
}

void add_detail_figures(const finish::Restored& restored, nlohmann::json& figures) {
  if (!restored.gains.empty()) figures["detail_gains"] = gains_json(restored.gains);
  if (!restored.blur) return;
  figures["blur_core"] = restored.blur->core;
  figures["blur_halo_cycles_per_px"] = restored.blur->halo;
  figures["blur_cutoff_cycles_per_px"] = restored.blur->cutoff;
}

double brightest_of(const files::Picture& picture) {
  float highest = 0;
  for (const Plane& plane : picture.channels) {
    for (int y = 0; y < plane.height(); ++y)
      highest = std::max(highest, *std::max_element(plane.row(y), plane.row(y) + plane.width()));
  }
  return static_cast<double>(highest);
}

void settle_tone(const Look& look, const finish::Levels& seen, double brightest, Finished& out) {
  out.pose = look.pose;
  const finish::Levels& levels = out.levels = levels_for(look, seen);
  if (look.tone != finish::Tone::linear) {
    out.encoding = {0, 1};
    out.transfer = files::Transfer::screen;
  } else {
    out.encoding = linear_encoding(brightest, seen);
    if (look.black) out.encoding.black = *look.black;
    if (look.white) out.encoding.white = *look.white;
    if (!(out.encoding.black < out.encoding.white)) out.encoding = {levels.black, levels.white};
  }
  const bool linear = look.tone == finish::Tone::linear;
  out.figures["black"] = linear ? out.encoding.black : levels.shown_as_black();
  out.figures["white"] = linear ? out.encoding.white : levels.white;
}

void finish_tone(const Look& look, const finish::Levels& seen, Finished& out) {
  settle_tone(look, seen, brightest_of(out.picture), out);
  finish::apply_tone(out.picture.channels, look.tone, out.levels);
}

Circle limb_to_flatten(const files::PictureView& shown) {
  Plane mean = Plane::copy_of(shown.channels.front());
  for (std::size_t c = 1; c < shown.channels.size(); ++c) add(mean.view(), shown.channels[c]);
  if (const auto limb = finish::find_limb(mean.view())) return *limb;
  throw NothingUsable(
      "--flatten-limb: the picture shows no round edge against dark sky; leave out the option, or "
      "record the limb too");
}

namespace {

// The edge is that of the stack: restored detail would put more crossings beside it.
void flatten(const files::PictureView& stack, Finished& out) {
  const Circle limb = limb_to_flatten(stack);
  finish::flatten_limb(out.picture.channels, limb);
  out.figures["limb"] = limb_json(limb);
}

// Between the samples of a steep edge a spline goes beyond them.
void keep_on_screen(Plane& channel) {
  for (int y = 0; y < channel.height(); ++y) {
    float* row = channel.row(y);
    std::transform(row, row + channel.width(), row,
                   [](float v) { return std::clamp(v, 0.0F, 1.0F); });
  }
}

// None where the picture shows something everywhere.
files::Picture continued_over(const files::PictureView& stack, const Plane& covered) {
  files::Picture out;
  if (covered.empty()) return out;
  for (const PlaneView& channel : stack.channels)
    out.channels.push_back(finish::continued_over(channel, covered.view()));
  return out;
}

// In the order given; of two with one key the later counts.
void put_card(std::vector<files::Card>& cards, files::Card card) {
  std::erase_if(cards, [&](const files::Card& other) { return other.key == card.key; });
  cards.push_back(std::move(card));
}

}  // namespace

std::string viewing_hint(const std::string& picture, const std::string& share,
                         const Finished& finished) {
  if (finished.transfer != files::Transfer::linear ||
      files::format_of(picture) == files::Format::fits)
    return {};
  return fmt::format("{} is linear and looks dark; for viewing {}", picture,
                     share.empty() ? "use --share or --tone gamma" : "take " + share);
}

Finished finish_picture(const files::PictureView& stack, const finish::Measurements& measured,
                        const Look& look) {
  Finished out;
  const files::Picture whole = continued_over(stack, measured.covered);
  const files::PictureView shown = whole.channels.empty() ? stack : whole.view();
  finish::Restored restored = finish::restore(shown.channels, measured, detail_plan(look));
  out.picture.channels = std::move(restored.channels);
  add_detail_figures(restored, out.figures);
  finish_channels(look, out);
  if (look.limb == LimbLight::flattened) flatten(shown, out);
  finish_colours(look, colour_balance(look, shown), out);
  if (!measured.covered.empty()) {
    for (Plane& channel : out.picture.channels)
      finish::clear_uncovered(channel, measured.covered.view());
  }
  require_finite(out.picture);
  finish_tone(look, finish::levels_of(out.picture.view().channels), out);
  return out;
}

void finish_channels(const Look& look, Finished& out) {
  if (look.channel_offsets.any()) finish::move_channels(out.picture.channels, look.channel_offsets);
}

files::Picture posed(const Finished& finished) {
  const bool linear = finished.transfer == files::Transfer::linear;
  const auto corner = linear ? static_cast<float>(finished.levels.black) : 0.0F;
  files::Picture out;
  for (const Plane& channel : finished.picture.channels) {
    out.channels.push_back(finish::posed(channel.view(), finished.pose, corner));
    if (!linear) keep_on_screen(out.channels.back());
  }
  return out;
}

ColourBalance colour_balance(const Look& look, const files::PictureView& stack) {
  ColourBalance out;
  if (stack.channels.size() != 3) return out;
  const std::array<PlaneView, 3> colours = {stack.channels[0], stack.channels[1],
                                            stack.channels[2]};
  out.factors = factors_for(look.white_balance, look.object, colours);
  if (out.factors != finish::WhiteBalance{1, 1, 1}) out.sky = finish::sky_of(colours);
  return out;
}

void finish_colours(const Look& look, const ColourBalance& balance, Finished& out) {
  if (out.picture.channels.size() == 3) {
    if (balance.factors != finish::WhiteBalance{1, 1, 1})
      finish::balance(out.picture.channels, balance.factors, balance.sky);
    out.figures["white_balance"] = balance.factors;
  }
  if (look.saturation != 1) finish::saturate(out.picture.channels, look.saturation);
}

files::Metadata finished_metadata(const Finished& finished, const std::vector<files::Card>& cards,
                                  const Look& look) {
  files::Metadata metadata;
  metadata.description =
      describe_stack(cards, look.leaves_detail() ? StackDetail::as_stacked : StackDetail::restored);
  metadata.cards = cards;
  metadata.transfer = finished.transfer;
  for (files::Card& card : look_cards(look)) put_card(metadata.cards, std::move(card));
  return metadata;
}

files::Clipped write_finished(const std::filesystem::path& path, const Finished& finished,
                              const std::vector<files::Card>& cards, const Look& look) {
  const files::Picture turned = finished.pose.changes() ? posed(finished) : files::Picture{};
  const files::Picture& written = finished.pose.changes() ? turned : finished.picture;
  return files::write_picture(path, written.view(), finished.encoding,
                              finished_metadata(finished, cards, look));
}

files::Picture shared_copy(const Finished& finished, const draw::Annotation& notes) {
  files::Picture copy = posed(finished);
  if (finished.transfer == files::Transfer::linear)
    finish::apply_tone(copy.channels, finish::Tone::gamma, finished.levels);
  return notes.empty() ? std::move(copy) : draw::annotated(copy.view(), notes);
}

void write_shared(const std::filesystem::path& path, const files::Picture& copy,
                  const std::string& caption, const std::vector<files::Card>& cards) {
  files::ShareTags tags;
  tags.description = caption;
  if (const auto* begin = find_card<std::string>(cards, "DATE-OBS")) tags.recorded_utc = *begin;
  files::write_share(path, copy.view(), tags);
}

}  // namespace lull::run

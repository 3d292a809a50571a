#include "run/filter_stack.h"

#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <optional>
#include <utility>

#include "core/error.h"
#include "core/utc.h"
#include "files/name_text.h"
#include "run/merge_outcome.h"
#include "run/resolution.h"
#include "run/stack_header.h"
#include "spectrum/continuation.h"

namespace lull::run {

namespace {

constexpr const char* kFileCards[] = {"RED", "GREEN", "BLUE", "LUMINANC"};

// One channel, or the mean of three.
Plane one_of(const std::vector<Plane>& channels, std::size_t part) {
  if (channels.size() == 1 || part < merge::kLuminance)
    return Plane::copy_of(channels[channels.size() == 1 ? 0 : part].view());
  std::vector<PlaneView> views;
  for (const Plane& channel : channels) views.push_back(channel.view());
  return mean_plane(views);
}

merge::Sharpness sharpness_of(const FinishInput& input) {
  merge::Sharpness out{std::nullopt, input.measured.sampling, input.measured.frc};
  if (input.measured.ratio.empty()) return out;
  finish::PreparedRestoration prepared(input.picture.view().channels, input.measured,
                                       finish::PreparedRestoration::Keep::nothing);
  out.air = prepared.air().blur;
  return out;
}

// Pixels of this stack for one of an angle that all stacks share.
double scale_of(const std::vector<files::Card>& cards) {
  if (const auto arcsec = arcsec_per_px(cards)) return 1 / *arcsec;
  const auto* enlarged = find_card<double>(cards, "SCALE");
  return enlarged != nullptr && *enlarged > 0 ? *enlarged : 1;
}

void add_sum(const std::vector<FinishInput>& inputs, const char* key, const char* comment,
             std::vector<files::Card>& cards) {
  std::int64_t sum = 0;
  for (const FinishInput& input : inputs) {
    const auto* value = find_card<std::int64_t>(input.cards, key);
    if (value == nullptr) return;
    sum += *value;
  }
  cards.push_back({key, sum, comment});
}

void add_kept(const std::vector<files::Card>& from, std::initializer_list<const char*> keys,
              std::vector<files::Card>& cards) {
  for (const files::Card& card : from) {
    if (std::find(keys.begin(), keys.end(), card.key) != keys.end()) cards.push_back(card);
  }
}

// What all of them say alike.
void add_object(const std::vector<FinishInput>& inputs, std::vector<files::Card>& cards) {
  const auto* first = find_card<std::string>(inputs.front().cards, "OBJECT");
  for (const FinishInput& input : inputs) {
    const auto* word = find_card<std::string>(input.cards, "OBJECT");
    if (first == nullptr || word == nullptr || *word != *first) return;
  }
  add_kept(inputs.front().cards, {"OBJECT"}, cards);
}

std::vector<Utc> moments(const std::vector<FinishInput>& inputs, const char* key) {
  std::vector<Utc> out;
  for (const FinishInput& input : inputs) {
    if (const auto moment = moment_in(input.cards, key)) out.push_back(*moment);
  }
  return out;
}

void add_times(const std::vector<FinishInput>& inputs, std::vector<files::Card>& cards) {
  const std::vector<Utc> begins = moments(inputs, "DATE-OBS");
  if (begins.size() != inputs.size()) return;
  const auto text = [](Utc moment) { return iso8601(moment); };
  cards.push_back({"TIMESYS", std::string("UTC"), "time scale of the dates"});
  cards.push_back(
      {"DATE-OBS", text(*std::min_element(begins.begin(), begins.end())), "first of the stacks"});
  const std::vector<Utc> means = moments(inputs, "DATE-AVG");
  if (means.size() == inputs.size()) {
    double sum = 0;
    for (const Utc moment : means) sum += seconds_between(means.front(), moment);
    cards.push_back({"DATE-AVG",
                     text(after(means.front(), sum / static_cast<double>(means.size()))),
                     "mean of the stacks"});
  }
  const std::vector<Utc> ends = moments(inputs, "DATE-END");
  if (ends.size() == inputs.size())
    cards.push_back(
        {"DATE-END", text(*std::max_element(ends.begin(), ends.end())), "last of the stacks"});
  cards.push_back({"DATESRC", std::string("the joined stacks"), "what tells the dates"});
}

double rms_of(PlaneView plane) {
  double sum = 0;
  for (int y = 0; y < plane.height_px; ++y)
    for (int x = 0; x < plane.width_px; ++x)
      sum += static_cast<double>(plane.row(y)[x]) * static_cast<double>(plane.row(y)[x]);
  return std::sqrt(sum / static_cast<double>(plane.size().area_px()));
}

}  // namespace

const char* part_name(std::size_t part) {
  constexpr const char* kNames[] = {"red", "green", "blue", "luminance"};
  return kNames[part];
}

FinishInput read_halved_stack(const std::string& path) {
  FinishInput input = read_finish_input(path);
  if (input.has_halves) return input;
  throw InputError(
      fmt::format("cannot merge '{}': it has no half stacks, by which the noise of the joined "
                  "picture is known; "
                  "give a linear stack of lull stack (.linear.fits)",
                  path));
}

merge::FilterStack filter_stack_of(const FinishInput& input, std::size_t part,
                                   const std::string& name) {
  const finish::Measurements& measured = input.measured;
  merge::FilterStack out;
  out.name = name;
  const Size size = input.picture.size();
  out.picture = {0, 0, size.width_px, size.height_px};
  out.light = {one_of(input.picture.channels, part), one_of(measured.noise, part)};
  if (measured.surroundings) {
    out.picture = measured.surroundings->picture;
    out.light.light = one_of(measured.surroundings->channels, part);
    // Noise beyond the edges is like that inside.
    out.light.noise =
        spectrum::mirrored(out.light.noise.view(), out.light.light.size(), out.picture);
  }
  out.sharpness = sharpness_of(input);
  out.scale = scale_of(input.cards);
  return out;
}

std::vector<files::Card> joined_cards(const std::vector<FinishInput>& inputs,
                                      const std::vector<std::string>& names, std::size_t grid,
                                      const merge::Joined& joined) {
  std::vector<std::string> captures;
  for (const FinishInput& input : inputs) {
    const auto* capture = find_card<std::string>(input.cards, "CAPTURE");
    if (capture != nullptr &&
        std::find(captures.begin(), captures.end(), *capture) == captures.end())
      captures.push_back(*capture);
  }
  std::vector<files::Card> cards = {
      {"CAPTURE", fmt::format("{}", fmt::join(captures, ", ")), "file names"}};
  add_sum(inputs, "NFRAMES", "frames in the captures", cards);
  add_sum(inputs, "NUSABLE", "frames that can be used", cards);
  add_sum(inputs, "NKEPT", "frames in the stacks", cards);
  const merge::Light mean = merge::mean_of(joined.colours);
  cards.push_back({"NOISE", rms_of(mean.noise.view().crop(joined.picture)),
                   "noise of a pixel of the mean of the colours"});
  const std::vector<files::Card>& of_grid = inputs[grid].cards;
  add_kept(of_grid, {"SCALE", "PIXFRAC", "NOISCORR"}, cards);
  add_object(inputs, cards);
  add_kept(of_grid, {"APERTURE", "PIXSCALE"}, cards);
  if (const auto found = resolution_of(joined.frc, std::nullopt)) {
    cards.push_back({"RESOL", found->period_px, "[px] finest period with FRC over 1/7"});
    if (const auto arcsec = arcsec_per_px(of_grid))
      cards.push_back(
          {"RESOLAS", found->period_px * *arcsec, "[arcsec] finest period with FRC over 1/7"});
  }
  if (const auto found = half_bit_resolution_of(joined.frc, std::nullopt))
    cards.push_back({"HALFB", found->period_px, "[px] finest period with FRC over half a bit"});
  add_times(inputs, cards);
  for (std::size_t i = 0; i < names.size(); ++i)
    cards.push_back({kFileCards[i], files::file_name_text(names[i]), "joined stack"});
  return cards;
}

}  // namespace lull::run

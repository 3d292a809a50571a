#include "run/stack_cards.h"

#include <fmt/format.h>

#include "files/name_text.h"
#include "run/resolution.h"

namespace lull::run {

namespace {

struct ResolutionKeys {
  const char* period_px;
  const char* period_arcsec;
  const char* cutoff_share;
  const char* threshold;
};

void add_cards(std::vector<files::Card>& cards, const std::optional<Resolution>& resolution,
               const ResolutionKeys& keys) {
  if (!resolution) return;
  const auto finest = [&keys](const char* unit) {
    return fmt::format("[{}] finest period with FRC {}", unit, keys.threshold);
  };
  cards.push_back({keys.period_px, resolution->period_px, finest("px")});
  if (resolution->period_arcsec)
    cards.push_back({keys.period_arcsec, *resolution->period_arcsec, finest("arcsec")});
  if (resolution->cutoff_share)
    cards.push_back({keys.cutoff_share, *resolution->cutoff_share, "the same over D/lambda"});
}

}  // namespace

std::vector<files::Card> stack_cards(const StackOutcome& outcome, const Opened& opened) {
  const StackRequest& request = outcome.request;
  const survey::Survey& survey = outcome.health.survey;
  const stack::StackResult& result = outcome.result;
  const auto count = [](std::size_t n) { return static_cast<std::int64_t>(n); };
  std::vector<files::Card> cards = {
      {"CAPTURE", files::file_name_text(request.input.capture()), "file name"},
      {"NFRAMES", count(survey.records.size()), "frames in the capture"},
      {"NUSABLE", survey.usable(), "frames that can be used"},
      {"NKEPT", count(result.kept.size()), "frames in the stack"},
      card_of(stack_options(), "--keep", request),
      {"METRIC", survey.ranked_by(), "sharpness measure"},
      {"PATCH", result.patch_px, "[px] side of the patches"},
      {"FUSION", std::string(result.fused ? "frequency" : "selection"), "how frames were summed"},
      {"NOISE", result.noise, "noise of a pixel of the linear stack"}};
  if (result.enlarged) {
    const stack::Enlargement& how = result.enlarged->enlargement;
    cards.push_back({"SCALE", how.scale, "pixels of the picture for one of a frame"});
    cards.push_back({"PIXFRAC", how.pixfrac, "side of a drop, pixels of a frame"});
    cards.push_back({"NOISCORR", how.noise_correlation(), "noise of areas over that of pixels"});
    cards.push_back({"FILLED", result.enlarged->filled, "share of samples without a drop"});
  }
  if (request.input.captures.size() > 1)
    cards.push_back({"NCAPTURE", count(request.input.captures.size()), "captures in the stack"});
  for (const char* name : {"--crop", "--frames", "--exclude"}) {
    if (is_given(option_named(stack_options(), name), request))
      cards.push_back(card_of(stack_options(), name, request));
  }
  if (request.look.object != Object::unspecified)
    cards.push_back(card_of(stack_options(), "--object", request));
  if (!request.instrument.filter.empty())
    cards.push_back(card_of(stack_options(), "--filter", request));
  const auto optics = outcome.optics_of_picture();
  if (optics) {
    cards.push_back(card_of(stack_options(), "--aperture", request));
    cards.push_back({"PIXSCALE", optics->scale_arcsec_per_px(), "[arcsec] a pixel"});
  }
  add_cards(cards, resolution_of(result.frc, optics), {"RESOL", "RESOLAS", "RESOLCUT", "over 1/7"});
  add_cards(cards, half_bit_resolution_of(result.frc, optics),
            {"HALFB", "HALFBAS", "HALFBCUT", "over half a bit"});
  for (files::Card& card : air_cards(outcome.air)) cards.push_back(std::move(card));
  if (opened.pattern_removed) {
    cards.push_back(
        {"PATCOL", opened.pattern.columns_rms_adu(), "[adu] pattern of the columns, rms"});
    cards.push_back({"PATROW", opened.pattern.rows_rms_adu(), "[adu] pattern of the rows, rms"});
    cards.push_back({"PATOFF", opened.pattern.text(), "pattern noise taken off"});
  }
  if (outcome.derotated) {
    cards.push_back(
        {"DEROTATE", count(outcome.derotated->pieces.size()), "pieces brought to one moment"});
    cards.push_back({"CMERID", outcome.derotated->central_meridian_deg,
                     "[deg] longitude of the disc's middle"});
  }
  if (outcome.times) {
    const auto dates = time_cards(*outcome.times);
    cards.insert(cards.end(), dates.begin(), dates.end());
  }
  return cards;
}

}  // namespace lull::run

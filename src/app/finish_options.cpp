#include "app/finish_options.h"

#include <fmt/format.h>

#include <CLI/CLI.hpp>
#include <charconv>
#include <cmath>
#include <nlohmann/json.hpp>
#include <optional>

#include "app/choices.h"
#include "app/usage.h"
#include "core/error.h"
#include "files/share.h"

namespace lull::app {

namespace {

constexpr double kFinest = 1;  // px: narrower features do not show
constexpr double kCoarsest = 1000;
constexpr double kMostGain = 20;
constexpr std::size_t kMostPoints = 20;
constexpr double kMostLight = 1000;
constexpr const char* kExample = "1.5:2.0,3:1.6,8:1.1";

UsageError bad_curve(const std::string& text, const std::string& why) {
  return UsageError(fmt::format(
      "--detail {}: {}. Give sizes of features in pixels, rising, each with its gain, such as {}",
      text, why, kExample));
}

std::optional<double> number_at(const char*& at, const char* end) {
  double value = 0;
  const auto [stop, error] = std::from_chars(at, end, value);
  if (error != std::errc()) return std::nullopt;
  at = stop;
  return value;
}

// "SIZE:GAIN" at a place in the text, which moves behind it.
std::optional<finish::DetailPoint> point_at(const char*& at, const char* end) {
  const auto size = number_at(at, end);
  if (!size || at == end || *at++ != ':') return std::nullopt;
  const auto gain = number_at(at, end);
  if (!gain) return std::nullopt;
  return finish::DetailPoint{*size, *gain};
}

void check_point(const std::string& text, const finish::DetailPoint& point, double before_px) {
  if (!(point.size_px >= kFinest && point.size_px <= kCoarsest)) {
    throw bad_curve(text, fmt::format("a feature of {} px is not between {} and {} px",
                                      point.size_px, kFinest, kCoarsest));
  }
  if (!(point.gain >= 0 && point.gain <= kMostGain)) {
    throw bad_curve(
        text, fmt::format("the gain {} is not between 0 (removed) and {}", point.gain, kMostGain));
  }
  if (!(point.size_px > before_px)) {
    throw bad_curve(text, fmt::format("{} px does not come after {} px", point.size_px, before_px));
  }
}

decltype(finish::DetailPlan::how) how_to_restore(const FinishOptions& options) {
  const bool by_curve = options.detail != "auto" && options.detail != "none";
  if (options.blur_px > 0 && options.detail != "auto") {
    throw UsageError(
        fmt::format("--blur {} and --detail {} say two things about the same detail; "
                    "leave one of them out",
                    options.blur_px, options.detail));
  }
  if (by_curve) return parse_detail_curve(options.detail);
  if (options.detail == "none") return finish::KeepDetail{};
  if (options.blur_px > 0) return finish::UndoGaussian{options.blur_px};
  return finish::UndoAir{};
}

finish::Tone parse_tone(const std::string& text) {
  if (text == "linear") return finish::Tone::linear;
  if (text == "gamma") return finish::Tone::gamma;
  if (text == "asinh") return finish::Tone::asinh;
  throw no_such_choice("--tone", text, {"linear", "gamma", "asinh"});
}

// None for auto.
std::optional<double> parse_level(const char* option, const std::string& text) {
  if (text == "auto") return std::nullopt;
  const char* at = text.data();
  const auto value = number_at(at, text.data() + text.size());
  if (value && at == text.data() + text.size() && std::abs(*value) <= kMostLight) return value;
  throw UsageError(
      fmt::format("{} {}: use auto, or light from -{} to {}, where 1 is full scale of the camera",
                  option, text, kMostLight, kMostLight));
}

}  // namespace

std::vector<std::string> add_finish_options(CLI::App& command, FinishOptions& options) {
  command.add_option(
      "--detail", options.detail,
      fmt::format("Detail: auto, none, or gains over feature size in px, such as {}", kExample));
  command
      .add_option("--blur", options.blur_px,
                  "Undo a Gaussian blur of this full width at half maximum, px")
      ->check(number_within(0.3, 50, "px"));
  command
      .add_option("--restraint", options.restraint,
                  "1: raise only detail that is certain; 0: all that is asked for")
      ->check(number_within(0, 1, ""));
  command.add_option("--white-balance", options.white_balance,
                     "Colours: none, grey (the object is gray on the mean), or factors R,G,B");
  command
      .add_option("--saturation", options.saturation,
                  "Strength of the colours: 0 gray, 1 as they are, up to 5")
      ->check(number_within(0, 5, ""));
  command.add_flag("--flatten-limb", options.flatten_limb,
                   "Divide out the darkening of the Sun towards its limb");
  command.add_option("--tone", options.tone,
                     "Brightness: linear; gamma (sRGB, for screens); asinh (lifts what is faint)");
  command.add_option("--black", options.black, "Light that becomes black: auto (0) or a number");
  command.add_option("--white", options.white,
                     "Light that becomes white: auto (the brightest fits) or a number");
  CLI::Option* share = command.add_option("--share", options.share,
                                          "Also write a copy of 8 bits for screens: .jpg or .png");
  share->check(file_name);
  command
      .add_option("--caption", options.caption,
                  "A text under that copy, or auto: object, time, aperture, frames kept")
      ->needs(share);
  command
      .add_flag("--scale-bar", options.scale_bar,
                "A bar of round length under that copy, in arcseconds where the optics are known")
      ->needs(share);
  return {"--detail",       "--blur", "--restraint", "--white-balance", "--saturation",
          "--flatten-limb", "--tone", "--black",     "--white"};
}

finish::DetailCurve parse_detail_curve(const std::string& text) {
  std::vector<finish::DetailPoint> points;
  const char* at = text.data();
  const char* end = at + text.size();
  do {
    const auto point = point_at(at, end);
    if (!point || (at != end && *at != ','))
      throw bad_curve(text, "this is neither auto, none nor a list of sizes and gains");
    check_point(text, *point, points.empty() ? 0 : points.back().size_px);
    points.push_back(*point);
    if (points.size() > kMostPoints)
      throw bad_curve(text, fmt::format("more than {} points", kMostPoints));
  } while (at++ != end);
  return finish::DetailCurve(points);
}

FinishPlan plan_of(const FinishOptions& options) {
  FinishPlan plan;
  plan.detail = {how_to_restore(options), options.restraint};
  plan.white_balance = parse_white_balance(options.white_balance);
  plan.flatten_limb = options.flatten_limb;
  plan.saturation = options.saturation;
  plan.tone = parse_tone(options.tone);
  if (!options.share.empty()) files::check_share_name(options.share);
  plan.black = parse_level("--black", options.black);
  plan.white = parse_level("--white", options.white);
  if (plan.white && !(*plan.white > plan.black.value_or(0))) {
    throw UsageError(fmt::format("--white {} must be above --black {}", options.white,
                                 plan.black ? options.black : "0"));
  }
  return plan;
}

bool changes_light(const FinishOptions& options) {
  return options.detail != "none" || options.white_balance != "none" || options.saturation != 1 ||
         options.flatten_limb || options.tone != "linear";
}

nlohmann::json to_json(const FinishOptions& options) {
  return {{"detail", options.detail},
          {"blur", options.blur_px},
          {"restraint", options.restraint},
          {"white_balance", options.white_balance},
          {"saturation", options.saturation},
          {"flatten_limb", options.flatten_limb},
          {"tone", options.tone},
          {"black", options.black},
          {"white", options.white}};
}

void read_json(const nlohmann::json& from, FinishOptions& options) {
  options.detail = from.value("detail", options.detail);
  options.blur_px = from.value("blur", options.blur_px);
  options.restraint = from.value("restraint", options.restraint);
  options.white_balance = from.value("white_balance", options.white_balance);
  options.saturation = from.value("saturation", options.saturation);
  options.flatten_limb = from.value("flatten_limb", options.flatten_limb);
  options.tone = from.value("tone", options.tone);
  options.black = from.value("black", options.black);
  options.white = from.value("white", options.white);
}

void check_colours(const FinishOptions& options, bool has_colour, const std::string& name) {
  if (has_colour) return;
  const std::string asked = options.white_balance != "none"
                                ? fmt::format("--white-balance {}", options.white_balance)
                                : fmt::format("--saturation {}", options.saturation);
  if (options.white_balance == "none" && options.saturation == 1) return;
  throw UsageError(fmt::format(
      "{}: {} has no colours; leave the option out, or stack it with the mosaic named by --cfa",
      asked, name));
}

std::vector<files::Card> finish_cards(const FinishOptions& options) {
  const std::string how =
      options.blur_px > 0 ? fmt::format("blur {}", options.blur_px) : options.detail;
  std::vector<files::Card> cards = {{"FINISH", how, "detail restoration"}};
  if (how != "none" && options.restraint < 1)
    cards.push_back({"RESTRAIN", options.restraint, "1 = only detail that is certain"});
  if (options.white_balance != "none")
    cards.push_back({"WHITEBAL", options.white_balance, "white balance"});
  if (options.saturation != 1) cards.push_back({"SATURATE", options.saturation, "of the colours"});
  if (options.flatten_limb)
    cards.push_back({"FLATLIMB", true, "darkening to the limb divided out"});
  if (options.tone != "linear") cards.push_back({"TONE", options.tone, "curve from light"});
  return cards;
}

}  // namespace lull::app

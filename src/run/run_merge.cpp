#include <fmt/format.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <numbers>
#include <optional>
#include <utility>

#include "core/error.h"
#include "core/utc.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/recipe.h"
#include "files/results.h"
#include "run/filter_stack.h"
#include "run/finish_picture.h"
#include "run/linear_file.h"
#include "run/memory_need.h"
#include "run/merge_outcome.h"
#include "run/merge_report.h"
#include "run/outputs.h"
#include "run/recipe_options.h"
#include "run/resolution.h"
#include "run/settled_look.h"
#include "run/share_notes.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

constexpr double kPlanesAStack = 8;  // light, noise, masks, coefficients, and those brought
constexpr double kPlanesOfJoining = 30;
constexpr double kApartS = 180;  // after which a planet has turned noticeably

struct MergeTargets {
  std::string picture;
  std::string linear;
  std::string recipe;
  std::string share;
  std::string page;
};

MergeTargets targets_of(const MergeRequest& request) {
  const fs::path picture = request.output;
  return {picture, fs::path(picture).replace_extension(".linear.fits"),
          fs::path(picture).replace_extension(".recipe.json"), request.look.share,
          request.report_path()};
}

MergeRequest complete(const MergeRequest& given) {
  check_complete(merge_options(), given);
  MergeRequest request = given;
  if (request.output.empty()) request.output = name_after(request.green, "_merged.tif");
  return request;
}

void check_request(const MergeRequest& request, const MergeTargets& targets,
                   const Resources& resources) {
  check_look(request.look);
  check_white_balance(request.look.white_balance, request.look.object);
  static_cast<void>(files::format_of(targets.picture));
  check_results({targets.picture, targets.linear, targets.recipe, targets.share, targets.page},
                request.stacks(), resources);
}

std::vector<FinishInput> read_stacks(const std::vector<std::string>& names,
                                     const Progress& progress) {
  std::vector<FinishInput> inputs;
  double bytes = 0;
  for (const std::string& name : names) {
    progress.step("reading", std::ssize(inputs), std::ssize(names));
    inputs.push_back(read_halved_stack(name));
    bytes +=
        kPlanesAStack * sizeof(float) * static_cast<double>(inputs.back().picture.size().area_px());
  }
  const Size size = inputs[merge::kGreen].picture.size();
  bytes += kPlanesOfJoining * sizeof(float) * static_cast<double>(size.area_px());
  require_memory(fmt::format("cannot merge '{}': {} stacks of {} x {} pixels", names[merge::kGreen],
                             names.size(), size.width_px, size.height_px),
                 bytes, {}, "close other programs, or stack smaller areas with --crop");
  return inputs;
}

// The joined stack as if it had been read from its file.
FinishInput joined_input(merge::Joined& joined, const FinishInput& grid,
                         std::vector<files::Card> cards) {
  FinishInput out;
  out.has_halves = true;
  out.cards = std::move(cards);
  finish::Measurements& measured = out.measured;
  finish::Surroundings& around = measured.surroundings.emplace();
  around.picture = joined.picture;
  for (merge::Light& colour : joined.colours) {
    const auto inside = [&](const Plane& plane) {
      return Plane::copy_of(plane.view().crop(joined.picture));
    };
    out.picture.channels.push_back(inside(colour.light));
    measured.noise.push_back(inside(colour.noise));
    around.channels.push_back(std::move(colour.light));
  }
  measured.frc = joined.frc;
  measured.ratio = grid.measured.ratio;
  measured.sampling = grid.measured.sampling;
  return out;
}

nlohmann::json part_json(const merge::Part& part) {
  nlohmann::json gains = nlohmann::json::array();
  for (const spectrum::FilterPoint& point : part.gains)
    gains.push_back({{"cycles_per_px", point.frequency}, {"gain", point.gain}});
  return {{"shift_px", {part.shift.x_px, part.shift.y_px}},
          {"turn_deg", part.whole.turn * 180 / std::numbers::pi},
          {"scale", part.whole.scale},
          {"bent_rms_px", part.bent_rms_px},
          {"blur_gains", gains}};
}

nlohmann::json figures_of(const merge::Joined& joined) {
  nlohmann::json out;
  for (std::size_t i = 0; i < joined.parts.size(); ++i)
    out["parts"][part_name(i)] = part_json(joined.parts[i]);
  nlohmann::json rings = nlohmann::json::array();
  for (const auto& ring : joined.frc.rings)
    rings.push_back({{"cycles_per_px", ring.frequency}, {"correlation", ring.correlation}});
  out["frc"] = rings;
  const auto resolution = resolution_of(joined.frc, std::nullopt);
  out["resolution_px"] = resolution ? nlohmann::json(resolution->period_px) : nlohmann::json();
  out["crop"] = {joined.of_grid.x0, joined.of_grid.y0, joined.of_grid.x1, joined.of_grid.y1};
  return out;
}

bool turns(const Look& look) {
  return look.object == Object::jupiter || look.object == Object::saturn ||
         look.object == Object::mars;
}

// Between the means of the stacks, seconds; none where they have no times.
std::optional<double> apart_s(const std::vector<FinishInput>& inputs) {
  std::vector<Utc> moments;
  for (const FinishInput& input : inputs) {
    const auto moment = moment_in(input.cards, "DATE-AVG");
    if (!moment) return std::nullopt;
    moments.push_back(*moment);
  }
  const auto [first, last] = std::minmax_element(moments.begin(), moments.end());
  return seconds_between(*first, *last);
}

void add_notes(const std::vector<FinishInput>& inputs, const Look& look, MergeOutcome& outcome) {
  std::vector<std::string> blind;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    if (inputs[i].measured.ratio.empty()) blind.push_back(outcome.request.stacks()[i]);
  }
  if (!blind.empty() && outcome.request.blur_match == merge::BlurMatch::to_the_grid) {
    outcome.notes.push_back(fmt::format(
        "{}: not compared with the frames (--finish none), so the blur is not known and is not "
        "matched; stack with --finish auto to match it",
        fmt::join(blind, ", ")));
  }
  const auto apart = apart_s(inputs);
  if (apart && *apart > kApartS && turns(look)) {
    outcome.notes.push_back(fmt::format(
        "the stacks lie {:.0f} s apart, in which the planet turned; its detail does not fit "
        "together exactly. Bring each to the same moment first by lull derotate --to, or record "
        "the filters in quicker sequence",
        *apart));
  }
}

void write_results(MergeOutcome& outcome, const MergeTargets& targets, const FinishInput& input,
                   const Look& look, const RunControl& control) {
  const Finished& finished = outcome.picture;
  const draw::Annotation under = share_notes(look, input.cards, outcome.size);
  const files::Picture shared =
      targets.share.empty() ? files::Picture{} : shared_copy(finished, under);
  outcome.viewing_hint = viewing_hint(targets.picture, targets.share, finished);
  using Format = files::Results::Format;
  files::Results results;
  const auto add = [&](const std::string& target, const files::Results::Write& write,
                       Format format = Format::of_writer) {
    if (target.empty()) return;
    outcome.written.push_back(target);
    results.add(target, write, format);
  };
  add(
      targets.picture,
      [&](const fs::path& path) {
        outcome.clipped = write_finished(path, finished, input.cards, look);
      },
      Format::of_name);
  add(targets.linear, [&](const fs::path& path) {
    write_linear(path, input.picture.view(), input.cards, input.measured, {});
  });
  add(
      targets.share,
      [&](const fs::path& path) { write_shared(path, shared, under.caption, input.cards); },
      Format::of_name);
  add(targets.recipe, [&](const fs::path& path) {
    files::save_recipe(path, {{"version", LULL_VERSION},
                              {"options", recipe_of(merge_options(), outcome.request)},
                              {"figures", outcome.figures}});
  });
  if (!targets.page.empty()) {
    outcome.written.push_back(targets.page);
    results.add(targets.page, [&](const fs::path& path) {
      files::write_file(path, merge_report(outcome, input, finished, shared));
    });
  }
  commit(results, control.resources);
}

std::vector<merge::FilterStack> filter_stacks(const std::vector<FinishInput>& inputs,
                                              const std::vector<std::string>& names,
                                              const Progress& progress) {
  std::vector<merge::FilterStack> out;
  for (std::size_t i = 0; i < inputs.size(); ++i) {
    progress.step("measuring the blur", std::ssize(out), std::ssize(inputs));
    out.push_back(filter_stack_of(inputs[i], i, names[i]));
  }
  return out;
}

}  // namespace

MergeOutcome run_merge(const MergeRequest& given, const RunControl& control) {
  const Progress& progress = control.progress;
  MergeOutcome outcome;
  outcome.request = complete(given);
  const MergeRequest& request = outcome.request;
  const MergeTargets targets = targets_of(request);
  check_request(request, targets, control.resources);
  const std::vector<std::string> names = request.stacks();
  const std::vector<FinishInput> inputs = read_stacks(names, progress);
  const std::size_t grid = merge::grid_of(inputs.size());
  merge::Joined joined = merge::join(filter_stacks(inputs, names, progress),
                                     {request.field, request.blur_match}, progress);
  outcome.frc = joined.frc;
  outcome.figures = figures_of(joined);
  std::vector<files::Card> cards = joined_cards(inputs, names, grid, joined);
  outcome.parts = std::move(joined.parts);
  const FinishInput input = joined_input(joined, inputs[grid], std::move(cards));
  outcome.size = input.picture.size();
  const Look look = settled_look(request.look, input, targets.linear, outcome.notes);
  add_notes(inputs, look, outcome);
  // What cannot be captioned is refused before the work.
  static_cast<void>(share_notes(look, input.cards, outcome.size));
  if (look.object == Object::sun)
    outcome.caution = sun_caution(look.object, names, health::Kind::field);
  progress.step("restoring detail", 0, 1);
  outcome.picture = finish_picture(input.picture.view(), input.measured, look);
  outcome.figures.update(outcome.picture.figures);
  outcome.cards = input.cards;
  progress.step("writing", 0, 1);
  write_results(outcome, targets, input, look, control);
  progress.step("writing", 1, 1);
  return outcome;
}

nlohmann::json to_json(const MergeOutcome& outcome) {
  nlohmann::json out = outcome.figures;
  out["caution"] = outcome.caution.empty() ? nlohmann::json() : nlohmann::json(outcome.caution);
  out["stacks"] = files::name_texts(outcome.request.stacks());
  out["notes"] = outcome.notes;
  out["written"] = files::name_texts(outcome.written);
  return out;
}

MergeRequest merge_request_of_recipe(const std::string& path) {
  return request_of(merge_options(), load_options(path), path);
}

}  // namespace lull::run

#include <fmt/format.h>

#include <filesystem>

#include "core/error.h"
#include "files/atomic_file.h"
#include "files/name_text.h"
#include "files/recipe.h"
#include "files/results.h"
#include "finish/blur.h"
#include "run/enlargement.h"
#include "run/linear_file.h"
#include "run/opening.h"
#include "run/option_kinds.h"
#include "run/outputs.h"
#include "run/recipe_options.h"
#include "run/share_notes.h"
#include "run/stack_cards.h"
#include "run/stack_estimate.h"
#include "run/stack_figures.h"
#include "run/stack_outcome.h"
#include "run/stack_report.h"
#include "run/verdict.h"
#include "stack/colour_frame.h"
#include "stack/frequency_fusion.h"

namespace lull::run {

namespace {

namespace fs = std::filesystem;

fs::path beside(const fs::path& output, const char* ending) {
  fs::path path = output;
  return path.replace_extension(ending);
}

// The files of a run. Empty: not wanted.
struct Targets {
  std::string picture;
  std::string linear;
  std::string recipe;
  std::string share;
  std::string page;
};

// --finish none is short for leaving detail as it is.
Look look_of(const StackRequest& request) {
  Look look = request.look;
  if (request.finish == FinishChoice::automatic) return look;
  if (!std::holds_alternative<RestoreDetail>(look.detail) || look.blur_px > 0) {
    throw UsageError(
        "--finish none leaves detail unchanged; leave out --detail and --blur, or --finish none");
  }
  look.detail = LeaveDetail{};
  return look;
}

Targets targets_of(const StackRequest& request, const Look& look, bool has_colour) {
  Targets targets;
  targets.picture = request.output;
  if (look.changes_picture(has_colour)) targets.linear = beside(request.output, ".linear.fits");
  targets.recipe = beside(request.output, ".recipe.json");
  targets.share = look.share;
  targets.page = request.report_path();
  return targets;
}

// By --object, or by the names of the captures.
sky::Body body_of(const StackRequest& request) {
  const Object object = request.look.object == Object::unspecified
                            ? object_in_names(request.input.captures)
                            : request.look.object;
  if (object == Object::unspecified)
    throw UsageError("--derotate auto: which planet is it? give --object, such as jupiter");
  return derotated_body(object);
}

void check_derotation(const StackRequest& request) {
  if (request.stacking.derotate == DerotateChoice::off) return;
  static_cast<void>(body_of(request));
  if (request.stacking.scale != 1)
    throw UsageError(
        "--derotate auto: pieces are not enlarged; leave out --scale, or stack parts of the "
        "capture with --scale and --frames, and bring these to one moment by `lull derotate`");
  if (request.stacking.area == FrameArea::whole)
    throw UsageError("--derotate auto: pieces are cut to what most frames show; leave out --frame");
}

// Everything that can be refused before the capture is opened.
void check_request(const StackRequest& request, const Look& look, const Targets& targets,
                   const Resources& resources) {
  check_look(look);
  check_white_balance(look.white_balance, look.object);
  static_cast<void>(enlargement_of(request.stacking));
  static_cast<void>(open_options(request.input, 0));
  static_cast<void>(files::format_of(targets.picture));
  check_derotation(request);
  check_results({targets.picture, targets.linear, targets.recipe, targets.share, targets.page},
                request.input.files(), resources);
}

// The request with the name of the picture filled in.
StackRequest complete(const StackRequest& given) {
  check_complete(stack_options(), given);
  if (given.input.captures.empty()) {
    throw UsageError("stack: name a capture, or give the recipe of an earlier run with --recipe");
  }
  StackRequest request = given;
  if (request.output.empty()) request.output = name_after(request.input.capture(), "_stack.tif");
  return request;
}

void check_fusion(const Stacking& stacking, const capture::CaptureInfo& info) {
  if (stacking.fusion != FusionChoice::frequency) return;
  if (stacking.scale != 1) {
    throw UsageError(fmt::format(
        "--fusion frequency: a stack of --scale {} is summed from drops, by selection; use auto or "
        "selection",
        stacking.scale));
  }
  if (!stack::FrequencyFusion::fits(info.size)) {
    throw UsageError(fmt::format(
        "--fusion frequency: frames of {} x {} px are too small or too large for it; use auto or "
        "selection",
        info.size.width_px, info.size.height_px));
  }
}

void check_keep(const quality::Keep& keep, const survey::Survey& survey) {
  const auto* count = std::get_if<quality::KeepCount>(&keep);
  const auto frames = static_cast<std::int64_t>(survey.records.size());
  if (count == nullptr || count->frames <= frames) return;
  throw UsageError(
      fmt::format("--keep {}: the capture has only {} frames; give fewer, or a share such as 15%",
                  count->frames, frames));
}

stack::StackOptions stacking_of(const StackRequest& request, const Look& look,
                                const Targets& targets) {
  stack::StackOptions options;
  options.keep = request.stacking.keep;
  options.patch_px = request.stacking.patch_px;
  options.area =
      request.stacking.area == FrameArea::whole ? stack::Area::whole : stack::Area::covered;
  if (request.stacking.fusion == FusionChoice::selection) options.fusion = stack::Fusion::none;
  options.enlargement = enlargement_of(request.stacking);
  if (request.stacking.dispersion != DispersionChoice::automatic)
    options.dispersion = stack::Dispersion::left;
  if (look.leaves_detail()) options.comparison = stack::Comparison::none;
  options.transfer_of = [](const std::vector<spectrum::RatioRing>& rings, double resolution) {
    return [blur = finish::blur_of_stack(rings, resolution)](double frequency) {
      return blur.transfer(frequency);
    };
  };
  if (!targets.page.empty()) options.illustrations = stack::Illustrations::of_the_run;
  return options;
}

// @param stacking  outlives the need.
MemoryNeed need_of(const Stacking& stacking) {
  MemoryNeed need;
  need.bytes = [&stacking](const capture::CaptureInfo& info) {
    return memory_of_stack(stacking, info);
  };
  if (stacking.scale > 1) need.less = "use a smaller --scale, or " + need.less;
  return need;
}

// One pass over the capture: the survey, and beside it what the page shows of its health.
void look_over(const Opened& opened, StackOutcome& outcome, const RunControl& control) {
  const StackRequest& request = outcome.request;
  capture::FrameStore& frames = *opened.frames;
  const auto optics = request.instrument.optics();
  std::optional<health::TurbulenceProbe> probe;
  if (optics) probe.emplace(frames.info(), optics->cutoff_cycles_per_px());
  if (request.report_path().empty()) {
    survey::SurveyOptions wanted{request.input.metric, {}};
    if (probe) wanted.watchers.push_back(&*probe);
    outcome.health.survey = survey::survey_capture(frames, wanted, control.progress);
  } else {
    const health::HealthOptions wanted{request.input.metric, samples_of(request.input),
                                       pattern_of(opened), health::Coverage::some_blocks,
                                       probe ? &*probe : nullptr};
    outcome.health = health::examine(frames, wanted, control.progress);
  }
  outcome.air = air_of(probe, optics);
}

// The capture without turned frames: where there are some it is opened again, since every position
// in them changes.
Opened open_upright(StackOutcome& outcome, Opened opened, const RunControl& control,
                    const MemoryNeed& need) {
  look_over(opened, outcome, control);
  outcome.orientation = outcome.health.survey.orientation;
  if (!outcome.orientation.changes()) return opened;
  opened = open_turned_back(outcome.request.input, outcome.orientation, control, need);
  look_over(opened, outcome, control);
  return opened;
}

PiecewisePlan plan_of(const StackRequest& request, const StackOutcome& outcome) {
  PiecewisePlan plan{body_of(request), request.turning, {}};
  if (const auto optics = outcome.optics_of_picture())
    plan.arcsec_per_px = optics->scale_arcsec_per_px();
  return plan;
}

std::string note_of(const survey::Orientation& orientation) {
  return survey::text_of(orientation) + "; they are turned back" +
         (orientation.doubtful.empty() ? "" : ", and those around the change are left out");
}

// What the run found, for the recipe, --json and the reader.
void describe(const Opened& opened, StackOutcome& outcome) {
  const StackRequest& request = outcome.request;
  const survey::Survey& survey = outcome.health.survey;
  outcome.info = opened.frames->info();
  outcome.times = exposure_times(outcome.info, survey, outcome.result.kept);
  outcome.figures = stack_figures(opened, survey, outcome.result, outcome.optics_of_picture());
  outcome.figures["air"] = to_json(outcome.air);
  outcome.shares = capture_shares(request.input.captures, *opened.beginnings, survey.records,
                                  outcome.result.kept);
  if (!outcome.shares.empty()) outcome.figures["captures"] = to_json(outcome.shares);
  if (outcome.times) outcome.figures["utc"] = to_json(*outcome.times);
  outcome.notes = outcome.info.notes;
  if (outcome.derotated) {
    outcome.figures["derotated"] = to_json(*outcome.derotated);
    outcome.notes.push_back(outcome.derotated->text());
    if (outcome.times) outcome.times->mean = outcome.derotated->moment;
  }
  if (outcome.orientation.changes()) outcome.notes.push_back(note_of(outcome.orientation));
  if (survey.field_turn.curve) {
    outcome.notes.push_back(survey::field_turn_text(survey.field_turn) +
                            "; the frames are turned back");
  } else if (std::string turning = field_turn_warning(survey); !turning.empty()) {
    outcome.notes.push_back(std::move(turning));
  }
  if (std::string still = still_object_warning(survey, samples_of(request.input)); !still.empty())
    outcome.notes.push_back(std::move(still));
  if (std::string warning = saturation_warning(survey, outcome.result.kept); !warning.empty())
    outcome.notes.push_back(std::move(warning));
  outcome.caution =
      sun_caution(request.look.object, request.input.captures, outcome.health.place.kind);
}

// Picture, linear stack, shared copy, recipe and page appear together.
void write_results(StackOutcome& outcome, const Look& look, const Targets& targets,
                   const std::vector<files::Card>& cards, const finish::Measurements& measured,
                   const RunControl& control) {
  const Progress& progress = control.progress;
  const draw::Annotation under = share_notes(look, cards, outcome.result.picture.size());
  const files::Picture shared =
      targets.share.empty() ? files::Picture{} : shared_copy(outcome.picture, under);
  const auto write_stack = [&](const fs::path& path) {
    write_linear(path, outcome.linear(), cards, measured, outcome.result.effective_frames);
  };
  const auto write_picture = [&](const fs::path& path) {
    if (targets.linear.empty() && files::format_of(targets.picture) == files::Format::fits)
      return write_stack(path);
    outcome.clipped = write_finished(path, outcome.picture, cards, look);
  };
  outcome.viewing_hint = viewing_hint(targets.picture, targets.share, outcome.picture);
  files::Results results;
  const auto add = [&](const std::string& target, const files::Results::Write& write,
                       files::Results::Format format = files::Results::Format::of_writer) {
    if (target.empty()) return;
    outcome.written.push_back(target);
    results.add(target, write, format);
  };
  add(targets.picture, write_picture, files::Results::Format::of_name);
  add(targets.linear, write_stack);
  add(
      targets.share,
      [&](const fs::path& path) { write_shared(path, shared, under.caption, cards); },
      files::Results::Format::of_name);
  add(targets.recipe, [&](const fs::path& path) {
    files::save_recipe(path, {{"version", LULL_VERSION},
                              {"options", recipe_of(stack_options(), outcome.request)},
                              {"figures", outcome.figures}});
  });
  if (!targets.page.empty()) {
    progress.step("report", 0, 1);
    outcome.written.push_back(targets.page);
    results.add(targets.page, [&](const fs::path& path) {
      files::write_file(path, stack_report(outcome, shared));
    });
  }
  progress.step("writing", 1, 1);
  commit(results, control.resources);
}

}  // namespace

files::PictureView StackOutcome::linear() const {
  files::PictureView view;
  for (const stack::ColourResult& colour : result.colours)
    view.channels.push_back(colour.picture.view());
  if (view.channels.empty()) view.channels.push_back(result.picture.view());
  return view;
}

std::optional<health::Optics> StackOutcome::optics_of_picture() const {
  return enlarged(request.instrument.optics(), result.scale());
}

StackOutcome run_stack(const StackRequest& given, const RunControl& control) {
  StackOutcome outcome;
  outcome.request = complete(given);
  const StackRequest& request = outcome.request;
  const Look look = look_of(request);
  const Targets possible = targets_of(request, look, true);
  check_request(request, look, possible, control.resources);
  stack::StackOptions stacking = stacking_of(request, look, possible);
  const MemoryNeed need = need_of(request.stacking);
  Opened recorded = open_capture(request.input, Passes::several, control, need);
  const capture::CaptureInfo info = recorded.frames->info();
  check_fusion(request.stacking, info);
  const bool has_colour = stack::has_colour(info);
  check_colours(look, has_colour ? 3 : 1, info.path);
  const Targets targets = targets_of(request, look, has_colour);
  const Opened opened = open_upright(outcome, std::move(recorded), control, need);
  stacking.memory_bytes = opened.frames_at_work_bytes;
  stacking.watcher = control.watcher;
  const survey::Survey& survey = outcome.health.survey;
  require_usable(survey, request.input.capture(), 2, "a stack");
  check_keep(request.stacking.keep, survey);
  if (request.stacking.derotate == DerotateChoice::automatic) {
    PiecewiseStack turned = stack_piecewise(*opened.frames, survey, stacking,
                                            plan_of(request, outcome), control.progress);
    outcome.result = std::move(turned.result);
    outcome.derotated = std::move(turned.facts);
  } else {
    outcome.result = stack::stack(*opened.frames, survey, stacking, control.progress);
  }
  describe(opened, outcome);
  const finish::Measurements measured = measurements_of(outcome.result);
  outcome.picture = finish_picture(outcome.linear(), measured, look);
  outcome.finished = look.changes_picture(has_colour);
  outcome.figures.update(outcome.picture.figures);
  write_results(outcome, look, targets, stack_cards(outcome, opened), measured, control);
  return outcome;
}

nlohmann::json to_json(const StackOutcome& outcome) {
  nlohmann::json out = outcome.figures;
  out["caution"] = outcome.caution.empty() ? nlohmann::json() : nlohmann::json(outcome.caution);
  out["capture"] = recipe_value(names_json(outcome.request.input.captures));
  out["notes"] = outcome.notes;
  out["written"] = files::name_texts(outcome.written);
  return out;
}

StackRequest stack_request_of_recipe(const std::string& path) {
  return request_of(stack_options(), load_options(path), path);
}

}  // namespace lull::run

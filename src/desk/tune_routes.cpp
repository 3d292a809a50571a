#include <fmt/format.h>

#include <algorithm>
#include <chrono>
#include <cmath>
#include <filesystem>
#include <nlohmann/json.hpp>
#include <utility>

#include "core/parallel.h"
#include "desk/frame_beside.h"
#include "desk/frame_picture.h"
#include "desk/option_values.h"
#include "desk/parameters.h"
#include "desk/routes.h"
#include "desk/sample_response.h"
#include "desk/stack_job.h"
#include "files/name_text.h"
#include "run/finish_outcome.h"
#include "run/repeat_command.h"
#include "run/stack_outcome.h"
#include "stack/candidates.h"

namespace lull::desk {

namespace {

namespace fs = std::filesystem;
using nlohmann::json;
using Clock = std::chrono::steady_clock;

constexpr double kCertain = 1.0 / 7;  // spectrum::FrcCurve::resolution()

Box region_in(const json& body, Size size) {
  const Box all = {0, 0, size.width_px, size.height_px};
  const json region = body.value("region", json());
  if (region.is_null()) return all;
  const bool fits = region.is_array() && region.size() == 4 &&
                    std::all_of(region.begin(), region.end(),
                                [](const json& one) { return one.is_number_integer(); });
  const auto number = [&](std::size_t i) {
    return static_cast<int>(std::clamp<std::int64_t>(region[i].get<std::int64_t>(), -1, 1 << 20));
  };
  const Box asked =
      fits ? Box{number(0), number(1), number(0) + number(2), number(1) + number(3)} : Box{};
  const Box within = asked.intersection(all);
  if (!fits || asked.x0 < 0 || asked.y0 < 0 || within.empty()) {
    throw Problem(
        400, "region: this is no area of the picture",
        fmt::format("give [x, y, width, height] within {} x {} px", size.width_px, size.height_px));
  }
  return within;
}

int reduction_for(const json& body, const Box& region) {
  const json width = body.value("width", json());
  if (width.is_null()) return 1;
  if (!width.is_number_integer() || width.get<std::int64_t>() < 1)
    throw Problem(400, "width: this is no number of px", "give a whole number from 1 on");
  const auto most = std::min<std::int64_t>(width.get<std::int64_t>(), 1 << 20);
  return static_cast<int>((region.width_px() + most - 1) / most);
}

std::string of_what(const json& body) {
  const json of = body.value("of", json("finished"));
  if (of != "finished" && of != "linear" && of != "best")
    throw Problem(400, "of: this is no picture of a result", "finished, linear or best");
  return of.get<std::string>();
}

run::Look look_in(const json& body) {
  run::FinishRequest request;
  apply_options(run::finish_options(), body.value("options", json::object()),
                {"stack", "--output", "--report", "--share"}, request);
  return request.look;
}

// All values of the picture, so that the page can move black and white over all of it.
files::Encoding encoding_of(const files::PictureView& picture) {
  files::Encoding out = {0, 0};
  for (const PlaneView& channel : picture.channels) {
    for (int y = 0; y < channel.height_px; ++y) {
      const auto [low, high] =
          std::minmax_element(channel.row(y), channel.row(y) + channel.width_px);
      out.black = std::min(out.black, static_cast<double>(*low));
      out.white = std::max(out.white, static_cast<double>(*high));
    }
  }
  if (!(out.black < out.white)) out.white = out.black + 1;
  return out;
}

Response response_of(files::Picture picture, const run::Finished& finished, int reduction) {
  picture = reduced(std::move(picture), reduction);
  check_samples(picture.size(), picture.channels.size());
  const bool linear = finished.transfer == files::Transfer::linear;
  SampleForm form;
  form.encoding = linear ? encoding_of(picture.view()) : files::Encoding{0, 1};
  form.levels = linear ? finished.levels : finish::Levels{};
  form.transfer = finished.transfer;
  form.reduction = reduction;
  return sample_response(picture.view(), form);
}

// The sharpest frame where the picture shows it, as it was recorded.
files::Picture best_frame(Parts& parts, const Result& result, const Box& region,
                          const files::Picture& shown) {
  const json figures = parts.results.recipe(result).value("figures", json::object());
  const auto captures = captures_of(result, parts.results.results(), parts.request.folder);
  if (captures.size() != 1 || !figures.value("enlarged", json()).is_null())
    throw Problem(409, "the best frame of this result cannot be shown beside it");
  const ListedCapture listed = parts.catalogue.capture(captures.front());
  const auto survey = parts.surveys.find(listed.found);
  if (!survey || survey->rank.order.empty())
    throw Problem(409, "the capture of this result was not surveyed yet", "survey it first");
  // The reference that the picture is a crop of lies where the run has put it.
  const run::StackRequest request =
      run::stack_request_of_recipe((parts.results.folder() / result.recipe_file).string());
  const stack::Candidates candidates(survey->rank.survey, request.stacking.keep, listed.found.name);
  const quality::FrameRecord& best = candidates.at(0);
  const FrameOffset offset = best.offset - candidates.origin();
  const json crop = figures.at("crop");
  const int dx = crop.at(0).get<int>() + static_cast<int>(std::lround(offset.x_px));
  const int dy = crop.at(1).get<int>() + static_cast<int>(std::lround(offset.y_px));
  const auto capture = parts.frames.open(listed);
  return frame_beside(capture->frame(best.index), capture->info(),
                      {region.x0 + dx, region.y0 + dy, region.x1 + dx, region.y1 + dy}, shown);
}

Response preview(Parts& parts, const Call& call) {
  const auto begin = Clock::now();
  const json body = json_body(call.request);
  const std::string of = of_what(body);
  const run::Look look = look_in(body);
  const Result result = parts.results.result(call.part("id"));
  const PictureLimit::Place place(parts.pictures);
  Response out;
  json warnings = json::array();
  Size size;
  parts.previews.use(parts.results, result, call.request.is_gone, [&](run::FinishPreview& opened) {
    size = opened.size();
    const Box region = region_in(body, size);
    const int reduction = reduction_for(body, region);
    if (of == "finished") {
      run::FinishPreview::Part part = opened.part(look, region);
      warnings = part.notes;
      out = response_of(std::move(part.finished.picture), part.finished, reduction);
    } else {
      run::Finished plain = opened.stack_part(region);
      if (of == "best") plain.picture = best_frame(parts, result, region, plain.picture);
      out = response_of(std::move(plain.picture), plain, reduction);
    }
  });
  const auto took = std::chrono::duration_cast<std::chrono::milliseconds>(Clock::now() - begin);
  out.headers.emplace_back("X-Warnings", files::json_text(warnings, -1));
  out.headers.emplace_back("X-Milliseconds", std::to_string(took.count()));
  out.headers.emplace_back("X-Picture-Width", std::to_string(size.width_px));
  out.headers.emplace_back("X-Picture-Height", std::to_string(size.height_px));
  return out;
}

json noise_json(Parts& parts, const Call& call) {
  const run::Look look = look_in(json_body(call.request));
  const Result result = parts.results.result(call.part("id"));
  const PictureLimit::Place place(parts.pictures);
  finish::RaisedNoise noise;
  parts.previews.use(parts.results, result, call.request.is_gone,
                     [&](run::FinishPreview& opened) { noise = opened.raised_noise(look); });
  json times = json::array();
  for (const float one : noise.times)
    times.push_back(std::round(100 * static_cast<double>(one)) / 100);
  return {{"cell_px", finish::RaisedNoise::kCellPx},
          {"columns", noise.columns},
          {"rows", noise.rows},
          {"times", std::move(times)}};
}

// {"output": ..., "caption": ..., "scale_bar": ...} as options.
json with_share(json options, const json& share) {
  if (share.is_null()) return options;
  if (!share.is_object() || !share.value("output", json()).is_string())
    throw Problem(400, "share: this is no copy to share", "give {\"output\": \"moon.jpg\"}");
  options["--share"] = share.at("output");
  if (share.contains("caption")) options["--caption"] = share.at("caption");
  if (share.value("scale_bar", json(false)) == true) options["--scale-bar"] = true;
  return options;
}

JobOutcome finish_outcome(const run::FinishRequest& request, const run::RunControl& control) {
  const run::FinishOutcome outcome = run::run_finish(request, control);
  std::vector<std::string> warnings = outcome.warnings;
  warnings.insert(warnings.end(), outcome.notes.begin(), outcome.notes.end());
  return {outcome.written, std::move(warnings)};
}

}  // namespace

Job create_export_job(Parts& parts, const std::string& id, const json& body) {
  const Result result = parts.results.result(id);
  if (result.linear().empty()) throw Problem(409, "this result has no linear stack to finish");
  run::FinishRequest request;
  request.input = parts.results.path_of(result, result.linear()).string();
  const json options = body.value("options", json::object());
  if (!options.is_object()) throw Problem(400, "options: this is no JSON object");
  apply_options(run::finish_options(),
                with_paths(parts, with_share(options, body.value("share", json()))),
                {"stack", "--output"}, request);
  run::check_look(request.look);
  const json output = body.value("output", json(""));
  if (!output.is_string()) throw Problem(400, "output: this is no text");
  request.output = new_result(parts, files::name_of_text(output.get<std::string>()), request.input,
                              "_finished.tif");
  JobFacts facts;
  facts.verb = "finish";
  facts.captures = captures_of(result, parts.results.results(), parts.request.folder);
  facts.names = {result.picture};
  facts.output = fs::path(request.output).filename().string();
  facts.command = run::repeat_command("finish", run::finish_options(), request);
  facts.request = body;
  facts.request["verb"] = "finish";
  facts.request["result"] = id;
  JobWork work{run::stages_of(request), [request](const run::RunControl& control) {
                 return finish_outcome(request, control);
               }};
  return parts.jobs.add(std::move(facts), std::move(work));
}

namespace {

json frc_json(Parts& parts, const std::string& id) {
  const Result result = parts.results.result(id);
  const json figures = parts.results.recipe(result).value("figures", json::object());
  json frequency = json::array();
  json correlation = json::array();
  json threshold = json::array();
  for (const json& ring : figures.value("frc", json::array())) {
    frequency.push_back(ring.at("cycles_per_px"));
    correlation.push_back(ring.at("correlation"));
    threshold.push_back(kCertain);
  }
  return {{"frequency_cycles_per_px", std::move(frequency)},
          {"frc", std::move(correlation)},
          {"threshold", std::move(threshold)},
          {"resolution_px", figures.value("resolution_px", json())},
          {"arcsec_per_px", figures.value("arcsec_per_px", json())}};
}

}  // namespace

void add_tune_routes(Router& router, Parts& parts) {
  router.add(Method::post, "/api/results/{id}/preview",
             [&parts](const Call& call) { return preview(parts, call); });
  router.add(Method::post, "/api/results/{id}/noise",
             [&parts](const Call& call) { return json_response(noise_json(parts, call)); });
  router.add(Method::post, "/api/results/{id}/export", [&parts](const Call& call) {
    const Job job = create_export_job(parts, call.part("id"), json_body(call.request));
    return json_response(job_json(parts, job), 201);
  });
  router.add(Method::get, "/api/results/{id}/frc", [&parts](const Call& call) {
    return json_response(frc_json(parts, call.part("id")));
  });
}

}  // namespace lull::desk

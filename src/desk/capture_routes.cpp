#include <map>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "desk/capture_trend.h"
#include "desk/result_index.h"
#include "desk/routes.h"
#include "files/name_text.h"
#include "health/shape.h"
#include "run/object.h"

namespace lull::desk {

namespace {

using nlohmann::json;

// Whether the caution for the Sun is due, by the name alone.
std::string sun_of(const capture::FoundCapture& found) {
  const std::string said =
      run::sun_caution(run::Object::unspecified, {found.path}, health::Kind::field);
  if (said.empty()) return "no";
  return said == run::sun_caution(run::Object::sun, {}, health::Kind::field) ? "named" : "possible";
}

json duration_json(const ListedCapture& capture) {
  const double rate = capture.info->times.frames_per_s;
  if (capture.frames() <= 0 || rate <= 0) return nullptr;
  return static_cast<double>(capture.frames()) / rate;
}

void add_info(const ListedCapture& capture, json& out) {
  const capture::CaptureInfo& info = *capture.info;
  const double rate = info.times.frames_per_s;
  out["container"] = info.storage.container;
  out["width"] = info.size.width_px;
  out["height"] = info.size.height_px;
  out["frames"] = capture.frames() > 0 ? json(capture.frames()) : json();
  out["duration_s"] = duration_json(capture);
  out["frames_per_s"] = rate > 0 ? json(rate) : json();
  out["colour"] = capture::colour_name(info.colour);
  out["cfa"] = capture::cfa_name(info.cfa);
  out["bits"] = info.bits.used;
  out["begun_utc"] = info.times.begun ? json(iso8601(*info.times.begun) + "Z") : json();
}

// The name stands beside it, so the path is left out.
json error_json(const ListedCapture& capture) {
  if (!capture.problem) return nullptr;
  json error = to_json(*capture.problem);
  const std::string what = error.at("what");
  const std::string path = files::name_text(capture.found.path) + ": ";
  if (what.starts_with(path)) error["what"] = what.substr(path.size());
  return error;
}

json capture_json(const ListedCapture& capture, const SurveyOfCapture* survey) {
  json out = {{"id", capture.found.id},
              {"name", files::name_text(capture.found.name)},
              {"folder", files::name_text(capture.found.folder)},
              {"bytes", capture.found.bytes},
              {"modified", time_json(capture.found.modified_s)},
              {"growing", capture.growing},
              {"error", error_json(capture)},
              {"surveyed", survey != nullptr},
              {"sun", sun_of(capture.found)},
              {"target", nullptr},
              {"health", nullptr},
              {"results", json::array()}};
  for (const char* name : {"container", "width", "height", "frames", "duration_s", "frames_per_s",
                           "colour", "cfa", "bits", "begun_utc"})
    out[name] = nullptr;
  if (capture.info) add_info(capture, out);
  if (survey == nullptr) return out;
  // A header may promise too much; the survey has counted.
  out["frames"] = survey->rank.survey.records.size();
  out["target"] = quality::target_name(survey->rank.survey.target.kind);
  if (!survey->inspect) return out;
  out["target"] = health::kind_name(survey->inspect->health.place.kind);
  out["health"] = to_json(health_of(*survey->inspect));
  return out;
}

// Results of a capture, by its id.
std::multimap<std::string, json> results_by_capture(Parts& parts) {
  std::multimap<std::string, json> out;
  const std::vector<Result> all = parts.results.results();
  for (const Result& result : all) {
    for (const std::string& capture : captures_of(result, all, parts.request.folder))
      out.emplace(capture, result_name_json(result));
  }
  return out;
}

json with_results(json capture, const std::multimap<std::string, json>& results) {
  const auto [begin, end] = results.equal_range(capture.at("id").get<std::string>());
  for (auto one = begin; one != end; ++one) capture["results"].push_back(one->second);
  return capture;
}

json list_json(Parts& parts) {
  const Catalogue::List list = parts.catalogue.list();
  const auto results = results_by_capture(parts);
  json captures = json::array();
  for (const ListedCapture& capture : list.captures) {
    captures.push_back(
        with_results(capture_json(capture, parts.surveys.find(capture.found).get()), results));
  }
  json problems = json::array();
  if (list.folder_problem) problems.push_back(to_json(*list.folder_problem));
  for (const Problem& problem : list.problems) problems.push_back(to_json(problem));
  return {{"complete", list.complete}, {"problems", problems}, {"captures", std::move(captures)}};
}

// Of the newest stack of a capture alone: an object, empty where there is none.
json figures_of(Parts& parts, const std::string& id) {
  const std::vector<Result> all = parts.results.results();
  for (const Result& result : all) {
    if (result.verb != "stack" ||
        captures_of(result, all, parts.request.folder) != std::vector<std::string>{id})
      continue;
    try {
      return parts.results.recipe(result).value("figures", json::object());
    } catch (const RunError&) {  // a damaged recipe says nothing
    }
  }
  return json::object();
}

json details_json(Parts& parts, const std::string& id) {
  const ListedCapture capture = parts.catalogue.capture(id);
  const auto survey = parts.surveys.find(capture.found);
  json out = with_results(capture_json(capture, survey.get()), results_by_capture(parts));
  out["notes"] = capture.info->notes;
  out["trend"] =
      survey ? trend_json(capture, *survey, *parts.instruments.current(), figures_of(parts, id))
             : json();
  out["inspect"] = survey && survey->inspect ? run::to_json(*survey->inspect) : json();
  return out;
}

}  // namespace

void add_capture_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/captures",
             [&parts](const Call&) { return json_response(list_json(parts)); });
  router.add(Method::get, "/api/captures/{id}", [&parts](const Call& call) {
    return json_response(details_json(parts, call.part("id")));
  });
}

}  // namespace lull::desk

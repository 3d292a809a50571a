#include <chrono>
#include <nlohmann/json.hpp>
#include <utility>

#include "desk/option_values.h"
#include "desk/routes.h"
#include "run/profile_options.h"
#include "run/repeat_command.h"

namespace lull::desk {

namespace {

using nlohmann::json;

bool is_same(const run::RankRequest& a, const run::RankRequest& b) {
  for (const auto& option : run::rank_options()) {
    if (option.get(a) != option.get(b)) return false;
  }
  return true;
}

// The table and the video of `lull rank` are files; a survey writes none.
run::RankRequest request_of(const Parts& parts, const json& body, const ListedCapture& capture) {
  run::RankRequest asked;
  asked.input.captures = {capture.found.path};
  const auto apply = [&](run::RankRequest& request) {
    apply_options(run::rank_options(), body.value("options", json::object()),
                  {"capture", "--csv", "--best-first", "--count"}, request);
  };
  apply(asked);
  run::RankRequest request;
  request.input.captures = asked.input.captures;
  run::apply_profile(*parts.instruments.current(), run::rank_options(), asked, request);
  apply(request);
  return request;
}

// Two passes: the order of the frames is of use before the health of the capture is known.
JobWork work_of(Parts& parts, capture::FoundCapture found, run::RankRequest request) {
  run::InspectRequest inspect;
  inspect.input = request.input;
  JobWork work;
  work.stages = run::stages_of(request);
  for (const run::Stage& stage : run::stages_of(inspect)) work.stages.push_back(stage);
  work.run = [&parts, found = std::move(found), request = std::move(request),
              inspect](const run::RunControl& control) {
    auto survey = std::make_shared<SurveyOfCapture>();
    survey->found = found;
    survey->request = request;
    const auto begun = std::chrono::steady_clock::now();
    survey->rank = run::run_rank(request, control);
    survey->ranking_s =
        std::chrono::duration<double>(std::chrono::steady_clock::now() - begun).count();
    run::require_ranked(survey->rank);
    parts.surveys.put(survey);
    parts.events.publish("captures", "", json::object());
    auto whole = std::make_shared<SurveyOfCapture>(*survey);
    whole->inspect = run::run_inspect(inspect, control);
    parts.surveys.put(whole);
    parts.events.publish("captures", "", json::object());
    return JobOutcome{{}, whole->rank.notes};
  };
  return work;
}

// A survey that is under way, by the same options.
std::optional<Job> under_way(Parts& parts, const std::string& id, const json& body) {
  for (const Job& job : parts.jobs.jobs()) {
    if (job.facts.verb == "survey" && !job.has_ended() && job.facts.captures.front() == id &&
        job.facts.request.value("options", json::object()) == body.value("options", json::object()))
      return job;
  }
  return std::nullopt;
}

json done_json(const std::string& id, const SurveyOfCapture& survey) {
  return {{"verb", "survey"},
          {"state", "done"},
          {"share", 1.0},
          {"captures", {id}},
          {"names", {survey.found.name}},
          {"error", nullptr}};
}

Response start(Parts& parts, const Call& call) {
  const std::string& id = call.part("id");
  const ListedCapture capture = parts.catalogue.capture(id);
  const json body = json_body(call.request);
  run::RankRequest request = request_of(parts, body, capture);
  if (const auto job = under_way(parts, id, body)) return json_response(job_json(parts, *job));
  const auto known = parts.surveys.find(capture.found);
  if (known && known->inspect && is_same(known->request, request))
    return json_response(done_json(id, *known));
  JobFacts facts;
  facts.verb = "survey";
  facts.captures = {id};
  facts.names = {capture.found.name};
  facts.command = run::repeat_command("rank", run::rank_options(), request);
  facts.request = {
      {"verb", "survey"}, {"captures", {id}}, {"options", body.value("options", json::object())}};
  const Job job =
      parts.jobs.add(std::move(facts), work_of(parts, capture.found, std::move(request)));
  return json_response(job_json(parts, job), 201);
}

Response survey_response(Parts& parts, const std::string& id) {
  const ListedCapture capture = parts.catalogue.capture(id);
  const auto survey = parts.surveys.find(capture.found);
  if (!survey)
    throw Problem(409, "the capture was not surveyed yet, or has changed since",
                  "POST to this address starts the survey");
  return json_response(to_json(*survey, id));
}

}  // namespace

void add_survey_routes(Router& router, Parts& parts) {
  const std::string address = "/api/captures/{id}/survey";
  router.add(Method::post, address, [&parts](const Call& call) { return start(parts, call); });
  router.add(Method::get, address,
             [&parts](const Call& call) { return survey_response(parts, call.part("id")); });
}

}  // namespace lull::desk

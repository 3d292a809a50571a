#include <limits>
#include <nlohmann/json.hpp>

#include "desk/parameters.h"
#include "desk/routes.h"
#include "desk/sample_response.h"
#include "desk/stack_job.h"

namespace lull::desk {

namespace {

using nlohmann::json;

int id_in(const Call& call) {
  return static_cast<int>(
      whole_number_of("job", call.part("id"), 1, std::numeric_limits<int>::max()));
}

json list_json(const Parts& parts) {
  json jobs = json::array();
  for (const Job& job : parts.jobs.jobs()) jobs.push_back(job_json(parts, job));
  return {{"jobs", std::move(jobs)}};
}

Response remove(Parts& parts, int id) {
  if (!parts.jobs.job(id).has_ended()) return json_response(job_json(parts, parts.jobs.cancel(id)));
  const Job job = parts.jobs.job(id);
  parts.jobs.forget(id);
  parts.record.write(parts.jobs.jobs());
  return json_response(job_json(parts, job));
}

Response create(Parts& parts, const json& body) {
  const json verb = body.value("verb", json());
  if (verb == "stack") return json_response(job_json(parts, create_stack_job(parts, body)), 201);
  if (verb == "finish" && body.value("result", json()).is_string()) {
    const Job job = create_export_job(parts, body.at("result").get<std::string>(), body);
    return json_response(job_json(parts, job), 201);
  }
  throw Problem(400, "verb: this is no job", "stack, or POST to the address of a survey or export");
}

Response again(Parts& parts, int id) {
  const Job job = parts.jobs.job(id);
  if (job.facts.request.is_null())
    throw Problem(409, "this job cannot be asked for again", "start it as before");
  json body = job.facts.request;
  if (!job.has_ended() || job.state == JobState::done) body.erase("output");
  Response out = create(parts, body);
  if (job.state == JobState::interrupted) parts.jobs.forget(id);
  return out;
}

Response preview(Parts& parts, int id) {
  const Job job = parts.jobs.job(id);
  const bool runs = job.state == JobState::running || job.state == JobState::paused;
  const auto growing = runs && job.facts.verb == "stack" ? parts.growing.look() : nullptr;
  if (!growing)
    throw Problem(409, "there is no picture of this job yet", "ask again while it runs");
  const PictureLimit::Place place(parts.pictures);
  const files::PictureView picture = growing->picture.view();
  check_samples(picture.size(), picture.channels.size());
  Response out = sample_response(picture, {.levels = finish::levels_of(picture.channels)});
  out.headers.emplace_back("X-Frames", std::to_string(growing->frames));
  return out;
}

}  // namespace

json job_json(const Parts& parts, const Job& job) {
  json out = to_json(job);
  const bool grows = job.facts.verb == "stack" && !job.has_ended() && job.started_s > 0;
  out["preview"] = grows ? parts.growing.frames() : 0;
  return out;
}

void job_changed(Parts& parts, const Job& job) {
  parts.events.publish("job", std::to_string(job.id), job_json(parts, job));
  if (job.facts.verb == "survey") {
    const std::string& capture = job.facts.captures.front();
    parts.events.publish(
        "survey", capture,
        {{"capture", capture}, {"share", job.share}, {"state", state_name(job.state)}});
    return;
  }
  const bool began_or_ended = job.stage.empty() || job.has_ended();
  if (began_or_ended) parts.record.write(parts.jobs.jobs());
  if (job.state == JobState::done) parts.events.publish("results", "", json::object());
}

void add_job_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/jobs",
             [&parts](const Call&) { return json_response(list_json(parts)); });
  router.add(Method::post, "/api/jobs",
             [&parts](const Call& call) { return create(parts, json_body(call.request)); });
  router.add(Method::post, "/api/estimate", [&parts](const Call& call) {
    return json_response(estimate_stack_job(parts, json_body(call.request)));
  });
  router.add(Method::post, "/api/jobs/{id}/again",
             [&parts](const Call& call) { return again(parts, id_in(call)); });
  router.add(Method::get, "/api/jobs/{id}", [&parts](const Call& call) {
    return json_response(job_json(parts, parts.jobs.job(id_in(call))));
  });
  router.add(Method::remove, "/api/jobs/{id}",
             [&parts](const Call& call) { return remove(parts, id_in(call)); });
  router.add(Method::get, "/api/jobs/{id}/preview",
             [&parts](const Call& call) { return preview(parts, id_in(call)); });
  router.add(Method::post, "/api/jobs/{id}/pause", [&parts](const Call& call) {
    return json_response(job_json(parts, parts.jobs.pause(id_in(call))));
  });
  router.add(Method::post, "/api/jobs/{id}/resume", [&parts](const Call& call) {
    return json_response(job_json(parts, parts.jobs.resume(id_in(call))));
  });
}

}  // namespace lull::desk

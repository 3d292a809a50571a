#include <limits>
#include <nlohmann/json.hpp>

#include "desk/parameters.h"
#include "desk/routes.h"

namespace lull::desk {

namespace {

using nlohmann::json;

int id_in(const Call& call) {
  return static_cast<int>(
      whole_number_of("job", call.part("id"), 1, std::numeric_limits<int>::max()));
}

json list_json(const Parts& parts) {
  json jobs = json::array();
  for (const Job& job : parts.jobs.jobs()) jobs.push_back(to_json(job));
  return {{"jobs", std::move(jobs)}};
}

Response remove(Parts& parts, int id) {
  if (!parts.jobs.job(id).has_ended()) return json_response(to_json(parts.jobs.cancel(id)));
  const Job job = parts.jobs.job(id);
  parts.jobs.forget(id);
  return json_response(to_json(job));
}

}  // namespace

void publish_job(Events& events, const Job& job) {
  events.publish("job", std::to_string(job.id), to_json(job));
  if (job.facts.verb != "survey") return;
  const std::string& capture = job.facts.captures.front();
  events.publish("survey", capture,
                 {{"capture", capture}, {"share", job.share}, {"state", state_name(job.state)}});
}

void add_job_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/jobs",
             [&parts](const Call&) { return json_response(list_json(parts)); });
  router.add(Method::get, "/api/jobs/{id}", [&parts](const Call& call) {
    return json_response(to_json(parts.jobs.job(id_in(call))));
  });
  router.add(Method::remove, "/api/jobs/{id}",
             [&parts](const Call& call) { return remove(parts, id_in(call)); });
  router.add(Method::post, "/api/jobs/{id}/pause", [&parts](const Call& call) {
    return json_response(to_json(parts.jobs.pause(id_in(call))));
  });
  router.add(Method::post, "/api/jobs/{id}/resume", [&parts](const Call& call) {
    return json_response(to_json(parts.jobs.resume(id_in(call))));
  });
}

}  // namespace lull::desk

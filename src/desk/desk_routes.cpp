#include <nlohmann/json.hpp>
#include <string_view>
#include <utility>

#include "core/parallel.h"
#include "desk/page_files.h"
#include "desk/routes.h"
#include "files/name_text.h"
#include "run/object.h"

namespace lull::desk {

namespace {

using nlohmann::json;

void add_page(Router& router, const PageFile& file) {
  const auto answer = [&file](const Call&) {
    Response out;
    out.type = media_type_of(file.name);
    out.body = *file.text;
    return out;
  };
  router.add(Method::get, "/" + std::string(file.name), answer);
  if (file.name == "index.html") router.add(Method::get, "/", answer);
}

json desk_json(Parts& parts) {
  const auto list = parts.catalogue.list();
  return {{"version", LULL_VERSION},
          {"folder", files::name_text(parts.request.folder)},
          {"folder_error", list.folder_problem ? to_json(*list.folder_problem) : json()},
          {"results_folder", files::name_text(parts.request.results_folder())},
          {"threads", thread_count()},
          {"memory_bytes", parts.resources.memory_bytes},
          {"sun_caution", run::sun_caution(run::Object::sun, {}, health::Kind::disc)},
          {"sun_caution_seen", parts.sun_caution_seen.load()}};
}

// What follows from the instrument is asked for again by all pages.
json choose_profile(Parts& parts, const json& body) {
  const json wanted = body.value("profile", json(0));
  if (!wanted.is_string() && !wanted.is_null())
    throw Problem(400, "profile: this is no name", "give a name of GET /api/profiles, or null");
  parts.instruments.choose(wanted.is_null() ? std::string() : wanted.get<std::string>());
  json now = parts.instruments.to_json();
  parts.events.publish("profile", "", now);
  parts.events.publish("captures", "", json::object());
  return now;
}

Response events_response(Parts& parts, const Call& call) {
  Response out;
  out.type = "text/event-stream";
  out.next_part = [stream = parts.events.open(call.request.is_gone)] { return stream->next(); };
  parts.catalogue.wake();
  return out;
}

}  // namespace

void add_desk_routes(Router& router, Parts& parts) {
  for (const PageFile& file : kPageFiles) add_page(router, file);
  router.add(Method::get, "/api/desk",
             [&parts](const Call&) { return json_response(desk_json(parts)); });
  router.add(Method::post, "/api/desk/sun-caution", [&parts](const Call&) {
    parts.sun_caution_seen = true;
    return json_response(desk_json(parts));
  });
  router.add(Method::get, "/api/profiles",
             [&parts](const Call&) { return json_response(parts.instruments.to_json()); });
  router.add(Method::post, "/api/profiles/chosen", [&parts](const Call& call) {
    return json_response(choose_profile(parts, json_body(call.request)));
  });
  router.add(Method::get, "/api/events",
             [&parts](const Call& call) { return events_response(parts, call); });
}

}  // namespace lull::desk

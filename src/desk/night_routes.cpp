#include <nlohmann/json.hpp>
#include <utility>

#include "desk/nights.h"
#include "desk/page_response.h"
#include "desk/routes.h"

namespace lull::desk {

namespace {

using nlohmann::json;

json nights_json(Parts& parts) {
  std::vector<capture::FoundCapture> captures;
  for (const ListedCapture& one : parts.catalogue.list().captures) captures.push_back(one.found);
  json nights = json::array();
  for (const NearNight& night : nights_near(parts.request)) {
    if (json one = night_json(night, captures); !one.is_null()) nights.push_back(std::move(one));
  }
  return {{"nights", std::move(nights)}};
}

Response file_response(Parts& parts, const Call& call) {
  const std::string name = call.part("name");
  const std::string file = file_of_night(nights_near(parts.request), call.part("id"), name);
  if (name == "night.html") return night_page_response(file);
  return name.ends_with(".html") ? report_response(file) : plain_response(file);
}

}  // namespace

void add_night_routes(Router& router, Parts& parts) {
  router.add(Method::get, "/api/nights",
             [&parts](const Call&) { return json_response(nights_json(parts)); });
  router.add(Method::get, "/api/nights/{id}/{name...}",
             [&parts](const Call& call) { return file_response(parts, call); });
}

}  // namespace lull::desk

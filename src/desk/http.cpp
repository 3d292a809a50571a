#include "desk/http.h"

#include <array>
#include <nlohmann/json.hpp>

#include "desk/problem.h"
#include "files/name_text.h"

namespace lull::desk {

std::string media_type_of(std::string_view name) {
  constexpr std::array<std::pair<std::string_view, std::string_view>, 13> kTypes = {
      {{".html", "text/html; charset=utf-8"},
       {".css", "text/css; charset=utf-8"},
       {".js", "text/javascript; charset=utf-8"},
       {".svg", "image/svg+xml"},
       {".png", "image/png"},
       {".jpg", "image/jpeg"},
       {".jpeg", "image/jpeg"},
       {".tif", "image/tiff"},
       {".tiff", "image/tiff"},
       {".fits", "application/fits"},
       {".fit", "application/fits"},
       {".txt", "text/plain; charset=utf-8"},
       {".json", "application/json"}}};
  for (const auto& [ending, type] : kTypes) {
    if (name.ends_with(ending)) return std::string(type);
  }
  return "application/octet-stream";
}

Response json_response(const nlohmann::json& json, int status) {
  Response out;
  out.status = status;
  out.body = files::json_text(json, -1) + "\n";
  return out;
}

Response error_response(const std::exception_ptr& error) {
  const Problem problem = problem_of(error);
  return json_response({{"error", to_json(problem)}}, problem.status());
}

nlohmann::json json_body(const Request& request) {
  if (request.body.empty()) return nlohmann::json::object();
  nlohmann::json body = nlohmann::json::parse(request.body, nullptr, false);
  if (body.is_discarded())
    throw Problem(400, "the body is not JSON", "send an object such as {\"options\": {}}");
  if (!body.is_object())
    throw Problem(400, "the body is no JSON object", "send an object such as {\"options\": {}}");
  return body;
}

}  // namespace lull::desk

#include "desk/page_response.h"

#include <string_view>

#include "night/night_page.h"

namespace lull::desk {

namespace {

constexpr const char* kPolicy = "Content-Security-Policy";

}  // namespace

Response plain_response(const std::string& file) {
  Response out;
  out.file = file;
  out.type = media_type_of(file);
  return out;
}

Response report_response(const std::string& file) {
  Response out = plain_response(file);
  out.headers.emplace_back(kPolicy,
                           "sandbox allow-scripts; default-src 'none'; script-src "
                           "'unsafe-inline'; style-src 'unsafe-inline'; img-src data:");
  return out;
}

Response night_page_response(const std::string& file) {
  Response out = plain_response(file);
  out.headers.emplace_back(kPolicy, night::page_policy());
  return out;
}

}  // namespace lull::desk

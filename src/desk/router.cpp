#include "desk/router.h"

#include <optional>
#include <string_view>
#include <utility>

#include "desk/problem.h"

namespace lull::desk {

namespace {

constexpr std::string_view kRest = "...}";

bool is_name(const std::string& part) { return part.starts_with('{') && part.ends_with('}'); }

std::optional<std::map<std::string, std::string>> match(const std::vector<std::string>& pattern,
                                                        const std::vector<std::string>& path) {
  const bool takes_rest = pattern.back().ends_with(kRest) && path.size() >= pattern.size();
  if (pattern.size() != path.size() && !takes_rest) return std::nullopt;
  std::map<std::string, std::string> parts;
  for (std::size_t i = 0; i < pattern.size(); ++i) {
    if (takes_rest && i + 1 == pattern.size()) {
      std::string rest = path[i];
      for (std::size_t j = i + 1; j < path.size(); ++j) rest += "/" + path[j];
      if (rest.empty()) return std::nullopt;
      parts[pattern[i].substr(1, pattern[i].size() - 1 - kRest.size())] = std::move(rest);
      continue;
    }
    if (is_name(pattern[i])) {
      if (path[i].empty()) return std::nullopt;
      parts[pattern[i].substr(1, pattern[i].size() - 2)] = path[i];
    } else if (pattern[i] != path[i]) {
      return std::nullopt;
    }
  }
  return parts;
}

}  // namespace

std::vector<std::string> parts_of_path(const std::string& path) {
  std::vector<std::string> parts;
  std::size_t at = path.starts_with('/') ? 1 : 0;
  while (true) {
    const std::size_t end = path.find('/', at);
    parts.push_back(path.substr(at, end - at));
    if (end == std::string::npos) return parts;
    at = end + 1;
  }
}

void Router::add(Method method, const std::string& pattern, Answer answer) {
  routes_.push_back({method, parts_of_path(pattern), std::move(answer)});
}

Response Router::answer(const Request& request) const {
  const std::vector<std::string> path = parts_of_path(request.path);
  bool known = false;
  for (const Route& route : routes_) {
    const auto parts = match(route.pattern, path);
    if (!parts) continue;
    if (route.method == request.method) return route.answer({request, *parts});
    known = true;
  }
  if (known)
    throw Problem(405, "this address does not take such a request", "'lull help desk-api'");
  throw Problem(404, "there is nothing at this address",
                "'lull help desk-api' lists the addresses");
}

}  // namespace lull::desk

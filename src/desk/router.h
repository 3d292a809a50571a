#pragma once

#include <functional>
#include <map>
#include <string>
#include <vector>

#include "desk/http.h"

namespace lull::desk {

/// A request, and the parts of its path that stand for the names in a pattern.
struct Call {
  const Request& request;
  std::map<std::string, std::string> parts;

  [[nodiscard]] const std::string& part(const std::string& name) const { return parts.at(name); }
};

/// Paths as the interface has them, and what answers them. Filled before requests come; any thread.
class Router {
 public:
  using Answer = std::function<Response(const Call&)>;

  /// @param pattern  "/api/jobs/{id}": a name in braces takes one part, which is not empty. With
  /// dots, as the last, it takes all that follow.
  void add(Method method, const std::string& pattern, Answer answer);

  /// @throws Problem 404: no such path; 405: not by this method.
  [[nodiscard]] Response answer(const Request& request) const;

 private:
  struct Route {
    Method method = Method::get;
    std::vector<std::string> pattern;
    Answer answer;
  };

  std::vector<Route> routes_;
};

/// The parts of a path between slashes.
[[nodiscard]] std::vector<std::string> parts_of_path(const std::string& path);

}  // namespace lull::desk

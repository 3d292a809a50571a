#pragma once

#include <exception>
#include <nlohmann/json_fwd.hpp>
#include <stdexcept>
#include <string>

namespace lull::desk {

/// Why a request is not answered as asked: a status of HTTP (RFC 9110, section 15), what is wrong,
/// and what to do; the latter may be empty.
class Problem : public std::runtime_error {
 public:
  Problem(int status, const std::string& what, std::string remedy = {})
      : std::runtime_error(what), status_(status), remedy_(std::move(remedy)) {}

  [[nodiscard]] int status() const { return status_; }

  [[nodiscard]] const std::string& remedy() const { return remedy_; }

 private:
  int status_;
  std::string remedy_;
};

/// What an exception means to whoever asked: a RunError keeps its words, of which those after the
/// first "; " are the remedy.
[[nodiscard]] Problem problem_of(const std::exception_ptr& error);

/// {"what": ..., "do": ...}
[[nodiscard]] nlohmann::json to_json(const Problem& problem);

}  // namespace lull::desk

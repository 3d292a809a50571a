#pragma once

#include <functional>
#include <map>
#include <nlohmann/json_fwd.hpp>
#include <optional>
#include <string>
#include <string_view>
#include <utility>
#include <vector>

/// Requests and answers, apart from how they come over the wire (RFC 9110).
namespace lull::desk {

enum class Method { get, post, remove };

struct Request {
  Method method = Method::get;
  std::string path;                               ///< decoded, "/api/jobs"
  std::map<std::string, std::string> parameters;  ///< decoded; of two of a name the first
  std::string body;
  std::string host;
  std::optional<std::string> origin;
  std::string authorization;
  std::string cookie;
  std::function<bool()> is_gone{};  ///< whether the other side has left meanwhile; may be empty
};

struct Response {
  int status = 200;
  std::string type = "application/json";
  std::string body;
  std::vector<std::pair<std::string, std::string>> headers;
  /// Instead of a body: gives the next part, waiting for it; none = the end.
  std::function<std::optional<std::string>()> next_part;
  std::string file;  ///< instead of a body: sent from the disk, part by part
};

/// What answers requests. Any thread.
struct Answers {
  /// Before the body of a request is read: an answer that ends it, or none.
  std::function<std::optional<Response>(const Request&)> gate;
  std::function<Response(const Request&)> answer;  ///< may throw
};

/// By the ending of the name of a file, as browsers take it.
[[nodiscard]] std::string media_type_of(std::string_view name);

[[nodiscard]] Response json_response(const nlohmann::json& json, int status = 200);

/// The exception as {"error": ...}.
[[nodiscard]] Response error_response(const std::exception_ptr& error);

/// The body as a JSON object; an empty body is an empty object. @throws Problem 400.
[[nodiscard]] nlohmann::json json_body(const Request& request);

}  // namespace lull::desk

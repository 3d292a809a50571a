#include "desk/access.h"

#include <arpa/inet.h>
#include <fmt/format.h>
#include <sys/random.h>

#include <array>
#include <cerrno>
#include <utility>

#include "core/error.h"
#include "desk/problem.h"

namespace lull::desk {

namespace {

Response refusal(int status, const std::string& what, const std::string& remedy) {
  return error_response(std::make_exception_ptr(Problem(status, what, remedy)));
}

Response no_key() {
  Response out = refusal(401, "this desk answers nobody without its key",
                         "open the address that 'lull desk' printed, or send the header "
                         "'Authorization: Bearer KEY'");
  out.headers.emplace_back("WWW-Authenticate", "Bearer");
  return out;
}

bool is_ipv4(const std::string& text) {
  in_addr address{};
  return ::inet_pton(AF_INET, text.c_str(), &address) == 1;
}

bool is_ipv6(const std::string& text) {
  in6_addr address{};
  return ::inet_pton(AF_INET6, text.c_str(), &address) == 1;
}

}  // namespace

std::string random_key() {
  std::array<unsigned char, 16> bytes{};
  ssize_t got = 0;
  do {
    got = ::getrandom(bytes.data(), bytes.size(), 0);
  } while (got < 0 && errno == EINTR);
  if (got != static_cast<ssize_t>(bytes.size()))
    throw OutputError("the system gives no random numbers, so the desk would have no safe key");
  return fmt::format("{:02x}", fmt::join(bytes, ""));
}

bool same_secret(const std::string& a, const std::string& b) {
  if (a.size() != b.size()) return false;
  unsigned difference = 0;
  for (std::size_t i = 0; i < a.size(); ++i)
    difference |= static_cast<unsigned char>(a[i]) ^ static_cast<unsigned char>(b[i]);
  return difference == 0;
}

std::string host_name(const std::string& host) {
  const std::size_t bracket = host.rfind(']');
  const std::size_t colon = host.rfind(':');
  if (colon == std::string::npos || (bracket != std::string::npos && colon < bracket)) return host;
  return host.substr(0, colon);
}

bool is_address(const std::string& host) {
  if (host.size() > 2 && host.front() == '[' && host.back() == ']')
    return is_ipv6(host.substr(1, host.size() - 2));
  return is_ipv4(host);
}

std::optional<std::string> cookie_value(const std::string& header, const std::string& name) {
  std::size_t at = 0;
  while (at < header.size()) {
    const std::size_t end = std::min(header.find(';', at), header.size());
    const std::size_t begin = std::min(header.find_first_not_of(' ', at), end);
    const std::string pair = header.substr(begin, end - begin);
    if (pair.starts_with(name + "=")) return pair.substr(name.size() + 1);
    at = end + 1;
  }
  return std::nullopt;
}

Access::Access(std::string name, int port)
    : name_(std::move(name)),
      cookie_(fmt::format("lull_desk_{}", port)),
      key_(random_key()),
      session_(random_key()) {}

std::string Access::one_time_key() {
  const std::scoped_lock lock(guard_);
  return one_time_key_ = random_key();
}

bool Access::is_known_host(const std::string& host) const {
  const std::string name = host_name(host);
  return name == "localhost" || (!name_.empty() && name == name_) || is_address(name);
}

bool Access::takes(const std::string& key) {
  if (same_secret(key, key_)) return true;
  const std::scoped_lock lock(guard_);
  if (one_time_key_.empty() || !same_secret(key, one_time_key_)) return false;
  one_time_key_.clear();
  return true;
}

bool Access::is_let_in(const Request& request) const {
  const std::string bearer = "Bearer ";
  if (request.authorization.starts_with(bearer))
    return same_secret(request.authorization.substr(bearer.size()), key_);
  const auto cookie = cookie_value(request.cookie, cookie_);
  return cookie && same_secret(*cookie, session_);
}

std::optional<Response> Access::check(const Request& request) {
  if (!is_known_host(request.host)) {
    return refusal(403, "the desk is not known by the host name of this request",
                   "open it by 127.0.0.1, by localhost or by the address given to --listen");
  }
  if (request.origin && *request.origin != "http://" + request.host) {
    return refusal(403, "a page from elsewhere sent this request", "open the desk's own pages");
  }
  const auto key = request.parameters.find("key");
  if (request.method == Method::get && request.path == "/" && key != request.parameters.end()) {
    if (!takes(key->second)) return no_key();
    Response out;
    out.status = 303;
    out.headers = {
        {"Location", "/"},
        {"Set-Cookie", fmt::format("{}={}; Path=/; HttpOnly; SameSite=Strict", cookie_, session_)}};
    return out;
  }
  if (!is_let_in(request)) return no_key();
  return std::nullopt;
}

const std::vector<std::pair<std::string, std::string>>& safe_headers() {
  static const std::vector<std::pair<std::string, std::string>> headers = {
      {"Content-Security-Policy",
       "default-src 'none'; script-src 'self'; style-src 'self'; img-src 'self' blob:; "
       "connect-src 'self'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'"},
      {"X-Content-Type-Options", "nosniff"},
      {"Referrer-Policy", "no-referrer"},
      {"Cross-Origin-Resource-Policy", "same-origin"},
      {"Cross-Origin-Opener-Policy", "same-origin"},
      {"Cache-Control", "no-store"}};
  return headers;
}

}  // namespace lull::desk

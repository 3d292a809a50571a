#pragma once

#include <mutex>
#include <optional>
#include <string>

#include "desk/http.h"

namespace lull::desk {

/// 128 random bits in hexadecimal digits. @throws OutputError when the system gives none.
[[nodiscard]] std::string random_key();

/// Compares in a time that does not depend on where two texts of one length differ.
[[nodiscard]] bool same_secret(const std::string& a, const std::string& b);

/// The name in a Host header (RFC 9110, section 7.2) without its port: "127.0.0.1", "[::1]".
[[nodiscard]] std::string host_name(const std::string& host);

/// An IPv4 address, or an IPv6 address in brackets.
[[nodiscard]] bool is_address(const std::string& host);

/// The value of a cookie in a Cookie header (RFC 6265, section 4.2.1); none where it is not there.
[[nodiscard]] std::optional<std::string> cookie_value(const std::string& header,
                                                      const std::string& name);

/// Who is answered. A page of another origin can make a browser send requests here, and a name that
/// leads to this machine can make it take the desk for its own (DNS rebinding). So the host asked
/// for must be an address or a known name, and the origin that of the desk. Any thread.
class Access {
 public:
  /// @param name  by which the desk listens, beside addresses and localhost. @param port  its own:
  /// cookies do not tell ports of one host apart, so it is part of the name of the cookie.
  Access(std::string name, int port);

  [[nodiscard]] const std::string& key() const { return key_; }

  /// A key for one first address, once: it stands in the command line of the browser, which other
  /// users of the machine can see.
  [[nodiscard]] std::string one_time_key();

  /// Before the body of a request is read. @return the refusal, or the answer that sets the cookie;
  /// none: the request may go on.
  [[nodiscard]] std::optional<Response> check(const Request& request);

 private:
  [[nodiscard]] bool is_known_host(const std::string& host) const;
  [[nodiscard]] bool takes(const std::string& key);
  [[nodiscard]] bool is_let_in(const Request& request) const;

  std::string name_;
  std::string cookie_;   ///< its name
  std::string key_;      ///< in the first address, and for programs
  std::string session_;  ///< in the cookie
  std::mutex guard_;
  std::string one_time_key_;
};

/// For all answers: nothing of another origin is loaded, no script or style in the page itself
/// (Content Security Policy Level 3), no guess at the type, no frame around the desk.
[[nodiscard]] const std::vector<std::pair<std::string, std::string>>& safe_headers();

}  // namespace lull::desk

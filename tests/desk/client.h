#pragma once

#include <chrono>
#include <map>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

namespace lull::test {

/// An answer as it came over the wire.
struct Reply {
  int status = 0;                              ///< 0: none came
  std::map<std::string, std::string> headers;  ///< names in lower case
  std::string body;

  [[nodiscard]] nlohmann::json json() const { return nlohmann::json::parse(body); }

  /// Of an error.
  [[nodiscard]] std::string what() const { return json().at("error").at("what"); }
};

/// A connection to a port of 127.0.0.1, with nothing of the library that the desk uses.
class Wire {
 public:
  explicit Wire(int port);
  ~Wire();
  Wire(const Wire&) = delete;
  Wire& operator=(const Wire&) = delete;

  [[nodiscard]] bool is_open() const { return descriptor_ >= 0; }

  bool send(const std::string& bytes) const;

  /// Everything until the other side closes, or no more for so long.
  [[nodiscard]] std::string read_all(std::chrono::milliseconds patience) const;

  /// Until the text is among it, or no more comes for so long.
  [[nodiscard]] std::string read_until(const std::string& text,
                                       std::chrono::milliseconds patience) const;

 private:
  int descriptor_ = -1;
};

[[nodiscard]] Reply parse_reply(const std::string& bytes);

/// Sends one request on a connection of its own.
class Client {
 public:
  Client(int port, std::string key) : port_(port), key_(std::move(key)) {}

  /// @param address  "http://127.0.0.1:4711/?key=..."
  explicit Client(const std::string& address);

  [[nodiscard]] int port() const { return port_; }

  [[nodiscard]] const std::string& key() const { return key_; }

  /// @param headers  beside Host, Authorization and Content-Length; these where they are not given.
  [[nodiscard]] Reply ask(const std::string& method, const std::string& target,
                          const std::string& body = {},
                          std::map<std::string, std::string> headers = {}) const;

  [[nodiscard]] Reply get(const std::string& target) const { return ask("GET", target); }

  [[nodiscard]] Reply post(const std::string& target, const nlohmann::json& body) const {
    return ask("POST", target, body.dump());
  }

 private:
  int port_;
  std::string key_;
};

}  // namespace lull::test

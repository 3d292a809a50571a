#pragma once

#include <cstddef>
#include <functional>
#include <memory>
#include <string>

#include "desk/http.h"

namespace lull::desk {

/// HTTP/1.1 over TCP: reads requests within limits and sends answers. Each connection has a thread,
/// so that one that is slow holds up no other.
class HttpServer {
 public:
  static constexpr std::size_t kMostConnections = 256;  ///< more are answered with 503

  /// Listens from here on: connections wait for start(). @throws as Listener does.
  HttpServer(const std::string& address, int port);

  /// Ends all connections, also those in the middle of an answer, and waits for their threads:
  /// whatever lets these wait for long must have been ended before.
  ~HttpServer();
  HttpServer(const HttpServer&) = delete;
  HttpServer& operator=(const HttpServer&) = delete;

  [[nodiscard]] int port() const;

  void start(Answers answers);

 private:
  class Engine;
  std::unique_ptr<Engine> engine_;
};

}  // namespace lull::desk

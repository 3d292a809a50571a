#pragma once

#include <httplib.h>

#include "desk/connection.h"
#include "desk/http.h"

namespace lull::desk {

/// The library's server, without its sockets and threads: it reads one request from a connection
/// and writes one answer. Any thread.
class HttpEngine : private httplib::Server {
 public:
  HttpEngine(Answers answers, const ConnectionLimits& limits);

  /// @return whether another request may follow on the connection.
  [[nodiscard]] bool serve(Connection& connection);

 private:
  Answers answers_;
};

}  // namespace lull::desk

#include "desk/http_server.h"

#include <fmt/format.h>
#include <sys/socket.h>

#include <condition_variable>
#include <mutex>
#include <nlohmann/json.hpp>
#include <set>
#include <system_error>
#include <thread>
#include <utility>

#include "desk/connection.h"
#include "desk/http_engine.h"
#include "desk/listener.h"
#include "desk/problem.h"

namespace lull::desk {

namespace {

// Without the engine, since nothing was read.
const std::string& too_many() {
  static const std::string answer = [] {
    const std::string body =
        json_response({{"error", to_json(Problem(503, "too many connections at once",
                                                 "close some pages, then try again"))}},
                      503)
            .body;
    return fmt::format(
        "HTTP/1.1 503 Service Unavailable\r\nContent-Type: application/json\r\n"
        "Connection: close\r\nContent-Length: {}\r\n\r\n{}",
        body.size(), body);
  }();
  return answer;
}

}  // namespace

class HttpServer::Engine {
 public:
  Engine(const std::string& address, int port) : listener_(address, port) {}

  ~Engine() {
    listener_.stop();
    if (acceptor_.joinable()) acceptor_.join();
    std::unique_lock lock(open_->guard);
    for (const int descriptor : open_->descriptors) ::shutdown(descriptor, SHUT_RDWR);
    open_->ended.wait(lock, [this] { return open_->descriptors.empty(); });
  }

  Engine(const Engine&) = delete;
  Engine& operator=(const Engine&) = delete;

  [[nodiscard]] int port() const { return listener_.port(); }

  void start(Answers answers) {
    http_ = std::make_unique<HttpEngine>(std::move(answers), limits_);
    acceptor_ = std::thread([this] {
      while (auto socket = listener_.accept()) begin(*std::move(socket));
    });
  }

 private:
  /// One descriptor for each thread of a connection. The last of the threads may outlive the engine
  /// by a few instructions, so it is shared.
  struct Open {
    std::mutex guard;
    std::condition_variable ended;
    std::set<int> descriptors;

    void close(int descriptor) {
      const std::scoped_lock lock(guard);
      descriptors.erase(descriptor);
      const Socket closed(descriptor);
      ended.notify_all();
    }
  };

  void begin(Socket socket) {
    const int descriptor = socket.descriptor();
    {
      const std::scoped_lock lock(open_->guard);
      if (open_->descriptors.size() >= kMostConnections) return refuse(socket);
      open_->descriptors.insert(descriptor);
    }
    try {
      std::thread([this, descriptor, open = open_] {
        serve(descriptor);
        open->close(descriptor);
      }).detach();
      static_cast<void>(socket.release());
    } catch (const std::system_error&) {  // no thread to be had
      refuse(socket);
      open_->close(socket.release());
    }
  }

  static void refuse(const Socket& socket) {
    [[maybe_unused]] const ssize_t sent = ::send(socket.descriptor(), too_many().data(),
                                                 too_many().size(), MSG_NOSIGNAL | MSG_DONTWAIT);
  }

  void serve(int descriptor) {
    Connection connection(descriptor, limits_);
    while (connection.await_request() && http_->serve(connection)) {
    }
    connection.finish();
  }

  ConnectionLimits limits_;
  Listener listener_;
  std::unique_ptr<HttpEngine> http_;
  std::thread acceptor_;
  std::shared_ptr<Open> open_ = std::make_shared<Open>();
};

HttpServer::HttpServer(const std::string& address, int port)
    : engine_(std::make_unique<Engine>(address, port)) {}

HttpServer::~HttpServer() = default;

int HttpServer::port() const { return engine_->port(); }

void HttpServer::start(Answers answers) { engine_->start(std::move(answers)); }

}  // namespace lull::desk

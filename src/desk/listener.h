#pragma once

#include <optional>
#include <string>

namespace lull::desk {

/// A socket that closes itself.
class Socket {
 public:
  explicit Socket(int descriptor = -1) : descriptor_(descriptor) {}

  Socket(Socket&& other) noexcept : descriptor_(other.release()) {}

  Socket& operator=(Socket&& other) noexcept;
  ~Socket();
  Socket(const Socket&) = delete;
  Socket& operator=(const Socket&) = delete;

  [[nodiscard]] int descriptor() const { return descriptor_; }

  [[nodiscard]] int release();

 private:
  int descriptor_;
};

/// Where connections come in (TCP).
class Listener {
 public:
  /// @param address  an address or a name of this machine. @param port  0 = any that is free.
  /// @throws UsageError: no such address; OutputError: the port is taken, or not allowed.
  Listener(const std::string& address, int port);

  [[nodiscard]] int port() const { return port_; }

  /// The next connection; none: stop() was called. Waits without using the processor.
  [[nodiscard]] std::optional<Socket> accept();

  /// Ends accept(), also one to come. Any thread.
  void stop();

 private:
  Socket socket_;
  Socket wake_reader_;
  Socket wake_writer_;
  int port_ = 0;
};

}  // namespace lull::desk

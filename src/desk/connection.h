#pragma once

// Only sources that speak HTTP include this: the library's header is large.
#include <httplib.h>

#include <chrono>
#include <string>

namespace lull::desk {

/// What one request may take of its connection.
struct ConnectionLimits {
  std::chrono::milliseconds idle{5'000};      ///< until a request begins
  std::chrono::milliseconds request{10'000};  ///< from its first byte to its last
  std::chrono::milliseconds stalled{5'000};   ///< that whoever reads may take nothing
  std::size_t head_bytes = std::size_t{32} << 10;
  std::size_t body_bytes = std::size_t{1} << 20;
};

/// A connection as the HTTP library reads and writes it, within limits. One thread.
class Connection : public httplib::Stream {
 public:
  /// @param descriptor  stays open, and is not closed here.
  Connection(int descriptor, const ConnectionLimits& limits)
      : descriptor_(descriptor), limits_(limits) {}

  /// Waits for the first byte of a request. @return false: none came, or the other side left.
  [[nodiscard]] bool await_request();

  /// Did the last answer have a status of 400 or more? What may follow on the connection is then
  /// not a request that is known to be whole.
  [[nodiscard]] bool has_refused() const { return has_refused_; }

  /// Whether the other side has closed the connection, or its end of it.
  [[nodiscard]] bool is_gone() const;

  /// Lets the other side read what was written before the connection is closed, although it may
  /// still be sending.
  void finish();

  [[nodiscard]] bool is_readable() const override;
  [[nodiscard]] bool is_writable() const override;
  ssize_t read(char* bytes, size_t size) override;
  ssize_t write(const char* bytes, size_t size) override;
  void get_remote_ip_and_port(std::string& ip, int& port) const override;
  void get_local_ip_and_port(std::string& ip, int& port) const override;

  [[nodiscard]] socket_t socket() const override { return descriptor_; }

 private:
  using Clock = std::chrono::steady_clock;

  [[nodiscard]] bool fill();
  [[nodiscard]] bool await(short what, std::chrono::milliseconds most) const;

  int descriptor_;
  ConnectionLimits limits_;
  Clock::time_point deadline_;
  std::size_t left_ = 0;  ///< bytes that the request may still have
  std::string read_;      ///< from the socket, not yet given out
  std::size_t at_ = 0;
  bool answered_ = false;
  bool has_refused_ = false;
};

}  // namespace lull::desk

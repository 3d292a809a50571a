#include "desk/connection.h"

#include <poll.h>
#include <sys/socket.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <cstring>
#include <string_view>

namespace lull::desk {

namespace {

constexpr std::size_t kPiece = 16 << 10;

using std::chrono::duration_cast;
using std::chrono::milliseconds;

// "HTTP/1.1 404 Not Found"
bool is_refusal(std::string_view line) {
  const std::size_t space = line.find(' ');
  return space != std::string_view::npos && space + 1 < line.size() && line[space + 1] >= '4';
}

}  // namespace

bool Connection::await(short what, milliseconds most) const {
  pollfd end = {descriptor_, what, 0};
  int found = 0;
  do {
    found = ::poll(&end, 1, static_cast<int>(std::max<milliseconds::rep>(most.count(), 0)));
  } while (found < 0 && errno == EINTR);
  return found > 0;
}

bool Connection::await_request() {
  answered_ = false;
  has_refused_ = false;
  if (at_ == read_.size()) {
    if (!await(POLLIN, limits_.idle)) return false;
    char byte = 0;
    if (::recv(descriptor_, &byte, 1, MSG_PEEK) <= 0) return false;
  }
  deadline_ = Clock::now() + limits_.request;
  left_ = limits_.head_bytes + limits_.body_bytes;
  return true;
}

bool Connection::fill() {
  if (!await(POLLIN, duration_cast<milliseconds>(deadline_ - Clock::now()))) return false;
  read_.resize(kPiece);
  at_ = 0;
  ssize_t got = 0;
  do {
    got = ::recv(descriptor_, read_.data(), read_.size(), 0);
  } while (got < 0 && errno == EINTR);
  read_.resize(got > 0 ? static_cast<std::size_t>(got) : 0);
  return got > 0;
}

// The library reads the head byte by byte.
ssize_t Connection::read(char* bytes, size_t size) {
  if (left_ == 0 || (at_ == read_.size() && !fill())) return -1;
  const std::size_t count = std::min({size, read_.size() - at_, left_});
  std::memcpy(bytes, read_.data() + at_, count);
  at_ += count;
  left_ -= count;
  return static_cast<ssize_t>(count);
}

ssize_t Connection::write(const char* bytes, size_t size) {
  if (!answered_ && size > 0) {
    answered_ = true;
    has_refused_ = is_refusal({bytes, size});
  }
  if (!await(POLLOUT, limits_.stalled)) return -1;
  ssize_t sent = 0;
  do {
    sent = ::send(descriptor_, bytes, size, MSG_NOSIGNAL | MSG_DONTWAIT);
  } while (sent < 0 && errno == EINTR);
  return sent;
}

bool Connection::is_readable() const {
  return at_ < read_.size() || await(POLLIN, milliseconds{0});
}

// The library asks before each part of an answer, and writes no more where this is false.
bool Connection::is_writable() const {
  if (!await(POLLOUT, limits_.stalled)) return false;
  pollfd end = {descriptor_, POLLRDHUP, 0};
  return ::poll(&end, 1, 0) >= 0 && (end.revents & (POLLERR | POLLHUP)) == 0;
}

bool Connection::is_gone() const {
  pollfd end = {descriptor_, POLLRDHUP, 0};
  return ::poll(&end, 1, 0) > 0 && (end.revents & (POLLRDHUP | POLLERR | POLLHUP)) != 0;
}

void Connection::get_remote_ip_and_port(std::string& ip, int& port) const {
  ip.clear();
  port = 0;
}

void Connection::get_local_ip_and_port(std::string& ip, int& port) const {
  ip.clear();
  port = 0;
}

void Connection::finish() {
  ::shutdown(descriptor_, SHUT_WR);
  std::array<char, kPiece> rest{};
  const auto end = Clock::now() + milliseconds{500};
  for (std::size_t bytes = 0; bytes < limits_.body_bytes;) {
    if (!await(POLLIN, duration_cast<milliseconds>(end - Clock::now()))) return;
    const ssize_t got = ::recv(descriptor_, rest.data(), rest.size(), 0);
    if (got <= 0) return;
    bytes += static_cast<std::size_t>(got);
  }
}

}  // namespace lull::desk

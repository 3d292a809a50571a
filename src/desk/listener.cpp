#include "desk/listener.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <netdb.h>
#include <netinet/in.h>
#include <netinet/tcp.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <array>
#include <cerrno>
#include <chrono>
#include <cstring>
#include <memory>
#include <thread>
#include <utility>

#include "core/error.h"

namespace lull::desk {

namespace {

constexpr int kBacklog = 128;

using Addresses = std::unique_ptr<addrinfo, decltype(&::freeaddrinfo)>;

Addresses look_up(const std::string& address, int port) {
  addrinfo hints{};
  hints.ai_family = AF_UNSPEC;
  hints.ai_socktype = SOCK_STREAM;
  hints.ai_flags = AI_PASSIVE | AI_NUMERICSERV;
  addrinfo* found = nullptr;
  const int error = ::getaddrinfo(address.c_str(), std::to_string(port).c_str(), &hints, &found);
  if (error != 0) {
    throw UsageError(fmt::format(
        "--listen {}: no such address ({}); give an address of this machine, such as 127.0.0.1",
        address, ::gai_strerror(error)));
  }
  return {found, ::freeaddrinfo};
}

OutputError cannot_listen(const std::string& address, int port, int error) {
  if (error == EADDRINUSE) {
    return OutputError(fmt::format(
        "port {} of {} is taken, perhaps by another desk; give another --port, or leave it out",
        port, address));
  }
  if (error == EACCES) {
    return OutputError(fmt::format(
        "port {} of {} is kept for the system; give a --port from 1024 on, or leave it out", port,
        address));
  }
  return OutputError(
      fmt::format("cannot listen at port {} of {}: {}; give another --listen or "
                  "--port",
                  port, address, std::strerror(error)));
}

int port_of(int descriptor) {
  sockaddr_storage address{};
  socklen_t length = sizeof address;
  if (::getsockname(descriptor, reinterpret_cast<sockaddr*>(&address), &length) != 0) return 0;
  if (address.ss_family == AF_INET6)
    return ntohs(reinterpret_cast<const sockaddr_in6*>(&address)->sin6_port);
  return ntohs(reinterpret_cast<const sockaddr_in*>(&address)->sin_port);
}

}  // namespace

Socket& Socket::operator=(Socket&& other) noexcept {
  std::swap(descriptor_, other.descriptor_);
  return *this;
}

Socket::~Socket() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

int Socket::release() { return std::exchange(descriptor_, -1); }

Listener::Listener(const std::string& address, int port) {
  const Addresses found = look_up(address, port);
  int error = EADDRNOTAVAIL;
  for (const addrinfo* one = found.get(); one != nullptr; one = one->ai_next) {
    Socket socket(::socket(one->ai_family, one->ai_socktype | SOCK_CLOEXEC, one->ai_protocol));
    // Allows the port of a desk that has just ended, not that of one that is there.
    const int yes = 1;
    ::setsockopt(socket.descriptor(), SOL_SOCKET, SO_REUSEADDR, &yes, sizeof yes);
    if (socket.descriptor() >= 0 &&
        ::bind(socket.descriptor(), one->ai_addr, one->ai_addrlen) == 0 &&
        ::listen(socket.descriptor(), kBacklog) == 0) {
      socket_ = std::move(socket);
      break;
    }
    error = errno;
  }
  if (socket_.descriptor() < 0) throw cannot_listen(address, port, error);
  port_ = port_of(socket_.descriptor());
  std::array<int, 2> ends{};
  if (::pipe2(ends.data(), O_CLOEXEC) != 0) throw cannot_listen(address, port, errno);
  wake_reader_ = Socket(ends[0]);
  wake_writer_ = Socket(ends[1]);
}

std::optional<Socket> Listener::accept() {
  while (true) {
    std::array<pollfd, 2> ends = {
        {{socket_.descriptor(), POLLIN, 0}, {wake_reader_.descriptor(), POLLIN, 0}}};
    if (::poll(ends.data(), ends.size(), -1) < 0 && errno != EINTR) return std::nullopt;
    if (ends[1].revents != 0) return std::nullopt;
    if (ends[0].revents == 0) continue;
    Socket connection(::accept4(socket_.descriptor(), nullptr, nullptr, SOCK_CLOEXEC));
    if (connection.descriptor() >= 0) {
      const int yes = 1;  // an answer goes out at once
      ::setsockopt(connection.descriptor(), IPPROTO_TCP, TCP_NODELAY, &yes, sizeof yes);
      return connection;
    }
    // Too many open files, or too little memory: others may end meanwhile.
    if (errno == EMFILE || errno == ENFILE || errno == ENOBUFS || errno == ENOMEM)
      std::this_thread::sleep_for(std::chrono::milliseconds(50));
  }
}

void Listener::stop() {
  const char word = 0;
  [[maybe_unused]] const ssize_t written = ::write(wake_writer_.descriptor(), &word, 1);
}

}  // namespace lull::desk

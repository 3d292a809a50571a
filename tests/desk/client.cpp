#include "desk/client.h"

#include <arpa/inet.h>
#include <netinet/in.h>
#include <poll.h>
#include <sys/socket.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cctype>
#include <cstdlib>

namespace lull::test {

namespace {

// RFC 9112, section 7.1.
std::string unchunked(const std::string& bytes) {
  std::string out;
  std::size_t at = 0;
  while (at < bytes.size()) {
    const std::size_t end = bytes.find("\r\n", at);
    if (end == std::string::npos) break;
    const auto size =
        static_cast<std::size_t>(std::strtoul(bytes.substr(at, end - at).c_str(), nullptr, 16));
    if (size == 0) break;
    out += bytes.substr(end + 2, size);
    at = end + 2 + size + 2;
  }
  return out;
}

}  // namespace

Wire::Wire(int port) {
  const int descriptor = ::socket(AF_INET, SOCK_STREAM | SOCK_CLOEXEC, 0);
  sockaddr_in address{};
  address.sin_family = AF_INET;
  address.sin_port = htons(static_cast<std::uint16_t>(port));
  address.sin_addr.s_addr = htonl(INADDR_LOOPBACK);
  if (::connect(descriptor, reinterpret_cast<const sockaddr*>(&address), sizeof address) == 0)
    descriptor_ = descriptor;
  else
    ::close(descriptor);
}

Wire::~Wire() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

bool Wire::send(const std::string& bytes) const {
  std::size_t sent = 0;
  while (sent < bytes.size()) {
    const ssize_t count =
        ::send(descriptor_, bytes.data() + sent, bytes.size() - sent, MSG_NOSIGNAL);
    if (count <= 0) return false;
    sent += static_cast<std::size_t>(count);
  }
  return true;
}

std::string Wire::read_until(const std::string& text, std::chrono::milliseconds patience) const {
  std::string out;
  std::array<char, 1 << 16> piece{};
  while (text.empty() || out.find(text) == std::string::npos) {
    pollfd end = {descriptor_, POLLIN, 0};
    if (::poll(&end, 1, static_cast<int>(patience.count())) <= 0) break;
    const ssize_t count = ::recv(descriptor_, piece.data(), piece.size(), 0);
    if (count <= 0) break;
    out.append(piece.data(), static_cast<std::size_t>(count));
  }
  return out;
}

std::string Wire::read_all(std::chrono::milliseconds patience) const {
  return read_until({}, patience);
}

Reply parse_reply(const std::string& bytes) {
  Reply out;
  const std::size_t head = bytes.find("\r\n\r\n");
  if (head == std::string::npos || !bytes.starts_with("HTTP/1.1 ")) return out;
  out.status = std::atoi(bytes.substr(9, 3).c_str());
  std::size_t at = bytes.find("\r\n") + 2;
  while (at < head) {
    const std::size_t end = bytes.find("\r\n", at);
    const std::size_t colon = bytes.find(": ", at);
    std::string name = bytes.substr(at, colon - at);
    std::transform(name.begin(), name.end(), name.begin(),
                   [](unsigned char c) { return static_cast<char>(std::tolower(c)); });
    out.headers[name] = bytes.substr(colon + 2, end - colon - 2);
    at = end + 2;
  }
  out.body = bytes.substr(head + 4);
  if (out.headers.contains("transfer-encoding")) out.body = unchunked(out.body);
  return out;
}

Client::Client(const std::string& address) : port_(0) {
  const std::size_t colon = address.find(':', 7);
  port_ = std::atoi(address.substr(colon + 1).c_str());
  const std::size_t key = address.find("key=") + 4;
  key_ = address.substr(key, 32);
}

Reply Client::ask(const std::string& method, const std::string& target, const std::string& body,
                  std::map<std::string, std::string> headers) const {
  headers.try_emplace("Host", "127.0.0.1:" + std::to_string(port_));
  headers.try_emplace("Authorization", "Bearer " + key_);
  headers.try_emplace("Connection", "close");
  if (method == "POST") headers.try_emplace("Content-Length", std::to_string(body.size()));
  std::string text = method + " " + target + " HTTP/1.1\r\n";
  for (const auto& [name, value] : headers) {
    if (!value.empty()) text += name + ": " + value + "\r\n";
  }
  const Wire wire(port_);
  wire.send(text + "\r\n" + body);
  return parse_reply(wire.read_all(std::chrono::seconds(60)));
}

}  // namespace lull::test

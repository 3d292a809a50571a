#include "desk/http_engine.h"

#include <fstream>
#include <memory>
#include <nlohmann/json.hpp>
#include <utility>
#include <vector>

#include "desk/access.h"
#include "desk/problem.h"

namespace lull::desk {

namespace {

constexpr socket_t kListens = 0;

// The library hands its handlers no connection; each is served by one thread from end to end.
thread_local const Connection* served = nullptr;

Request request_of(const httplib::Request& from) {
  Request out;
  out.method = from.method == "POST"     ? Method::post
               : from.method == "DELETE" ? Method::remove
                                         : Method::get;
  out.path = from.path;
  out.parameters = {from.params.begin(), from.params.end()};
  out.body = from.body;
  out.host = from.get_header_value("Host");
  if (from.has_header("Origin")) out.origin = from.get_header_value("Origin");
  out.authorization = from.get_header_value("Authorization");
  out.cookie = from.get_header_value("Cookie");
  if (served != nullptr) out.is_gone = [connection = served] { return connection->is_gone(); };
  return out;
}

void send_file(const std::string& path, const std::string& type, httplib::Response& to) {
  auto file = std::make_shared<std::ifstream>(path, std::ios::binary | std::ios::ate);
  const std::streamoff size = file->tellg();
  if (!*file || size < 0) throw Problem(404, path + " is gone");
  to.set_content_provider(static_cast<std::size_t>(size), type,
                          [file](std::size_t offset, std::size_t length, httplib::DataSink& sink) {
                            std::vector<char> piece(std::min<std::size_t>(length, 256 << 10));
                            file->seekg(static_cast<std::streamoff>(offset));
                            file->read(piece.data(), static_cast<std::streamsize>(piece.size()));
                            if (file->gcount() <= 0) return false;
                            return sink.write(piece.data(),
                                              static_cast<std::size_t>(file->gcount()));
                          });
}

void fill(Response from, httplib::Response& to) {
  if (!from.file.empty()) send_file(from.file, from.type, to);
  to.status = from.status;
  for (const auto& [name, value] : safe_headers()) {
    bool replaced = false;
    for (const auto& given : from.headers) replaced = replaced || given.first == name;
    if (!replaced) to.set_header(name, value);
  }
  for (const auto& [name, value] : from.headers) to.set_header(name, value);
  if (from.status >= 400) to.set_header("Connection", "close");
  if (from.next_part) {
    to.set_chunked_content_provider(
        from.type, [next = std::move(from.next_part)](std::size_t, httplib::DataSink& sink) {
          const auto part = next();
          if (!part) sink.done();
          return !part || sink.write(part->data(), part->size());
        });
  } else if (from.file.empty()) {
    to.body = std::move(from.body);
    to.set_header("Content-Type", from.type);
  }
}

const char* words_of(int status) {
  switch (status) {
    case 413:
      return "the body of the request is too large";
    case 414:
      return "the address of the request is too long";
    case 400:
      return "this is no request that the desk understands";
    default:
      return "the desk does not answer such a request";
  }
}

// What the library refused by itself has no body yet.
void fill_error(const httplib::Request& /*request*/, httplib::Response& to) {
  if (!to.body.empty()) return;
  const int status = to.status >= 400 ? to.status : 400;
  fill(error_response(
           std::make_exception_ptr(Problem(status, words_of(status), "'lull help desk-api'"))),
       to);
}

}  // namespace

HttpEngine::HttpEngine(Answers answers, const ConnectionLimits& limits)
    : answers_(std::move(answers)) {
  // The library sends answers part by part only while it has a socket that listens; it is not used.
  svr_sock_ = kListens;
  set_payload_max_length(limits.body_bytes);
  set_keep_alive_max_count(1000);  // browsers are told so
  set_pre_routing_handler([this](const httplib::Request& request, httplib::Response& to) {
    auto refused = answers_.gate(request_of(request));
    if (!refused) return HandlerResponse::Unhandled;
    fill(*std::move(refused), to);
    return HandlerResponse::Handled;
  });
  const Handler answer = [this](const httplib::Request& request, httplib::Response& to) {
    try {
      fill(answers_.answer(request_of(request)), to);
    } catch (...) {
      fill(error_response(std::current_exception()), to);
    }
  };
  const std::string any = "[^]*";
  Get(any, answer);
  Post(any, answer);
  Delete(any, answer);
  set_error_handler(Handler(fill_error));
}

bool HttpEngine::serve(Connection& connection) {
  bool closed = false;
  served = &connection;
  const bool well = process_request(connection, false, closed, [](httplib::Request& request) {
    // Local connections are faster than any compression, and files are sent whole.
    request.headers.erase("Accept-Encoding");
    request.headers.erase("Range");
    request.ranges.clear();
  });
  served = nullptr;
  return well && !closed && !connection.has_refused();
}

}  // namespace lull::desk

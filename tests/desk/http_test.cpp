// Covers: desk/http, desk/http_server, desk/http_engine, desk/connection
// Covers: desk/listener, desk/problem
#include <doctest/doctest.h>

#include <atomic>
#include <chrono>
#include <memory>
#include <nlohmann/json.hpp>
#include <thread>
#include <vector>

#include "core/error.h"
#include "desk/client.h"
#include "desk/http_server.h"
#include "desk/listener.h"
#include "desk/problem.h"

TEST_SUITE("desk/http") {
  namespace {

  using namespace lull::desk;
  using namespace std::chrono_literals;
  using lull::test::Client;
  using lull::test::parse_reply;
  using lull::test::Reply;
  using lull::test::Wire;
  using Clock = std::chrono::steady_clock;

  Response echo(const Request& request) {
    if (request.path == "/broken") throw std::runtime_error("ouch");
    if (request.path == "/problem") throw Problem(409, "not now", "wait");
    if (request.path == "/run") throw lull::InputError("a.ser: cut short; copy it again");
    if (request.path == "/large") {
      Response out;
      out.type = "application/octet-stream";
      out.body = std::string(std::size_t{20} << 20, 'x');
      return out;
    }
    return json_response({{"path", request.path},
                          {"body", request.body},
                          {"a", request.parameters.contains("a") ? request.parameters.at("a") : ""},
                          {"method", static_cast<int>(request.method)}});
  }

  std::optional<Response> gate(const Request& request) {
    if (request.path != "/refused") return std::nullopt;
    return error_response(std::make_exception_ptr(Problem(401, "no")));
  }

  struct Served {
    HttpServer server{"127.0.0.1", 0};
    Client client{server.port(), "k"};

    Served() { server.start({gate, echo}); }
  };

  double seconds_since(Clock::time_point begin) {
    return std::chrono::duration<double>(Clock::now() - begin).count();
  }

  }  // namespace

  TEST_CASE("a request comes whole and decoded, and the answer has the safe headers") {
    const Served served;
    const Reply reply = served.client.ask("POST", "/x%20y/z?a=1%2B1&b=2", "hello");
    CHECK(reply.status == 200);
    CHECK(reply.json().at("path") == "/x y/z");
    CHECK(reply.json().at("a") == "1+1");
    CHECK(reply.json().at("body") == "hello");
    CHECK(reply.json().at("method") == static_cast<int>(Method::post));
    CHECK(reply.headers.at("content-type") == "application/json");
    CHECK(reply.headers.at("x-content-type-options") == "nosniff");
    CHECK(reply.headers.at("content-security-policy").starts_with("default-src 'none'; "));
    CHECK(reply.headers.at("content-security-policy").find("unsafe") == std::string::npos);
    CHECK(served.client.ask("DELETE", "/x").json().at("method") ==
          static_cast<int>(Method::remove));
  }

  TEST_CASE("exceptions become answers with a status, what is wrong and what to do") {
    const Served served;
    CHECK(served.client.get("/broken").status == 500);
    const Reply problem = served.client.get("/problem");
    CHECK(problem.status == 409);
    CHECK(problem.json() == nlohmann::json{{"error", {{"what", "not now"}, {"do", "wait"}}}});
    const Reply run = served.client.get("/run");
    CHECK(run.status == 422);
    CHECK(run.json() ==
          nlohmann::json{{"error", {{"what", "a.ser: cut short"}, {"do", "copy it again"}}}});
  }

  TEST_CASE("several requests go over one connection, and a refused one ends it") {
    const Served served;
    const Wire wire(served.server.port());
    const std::string host = " HTTP/1.1\r\nHost: 127.0.0.1\r\n";
    for (int i = 0; i < 3; ++i) {
      wire.send("GET /a" + host + "\r\n");
      CHECK(parse_reply(wire.read_until("}\n", 5s)).status == 200);
    }
    // What follows the refused request is its body, and no request.
    wire.send("POST /refused" + host + "Content-Length: 40\r\n\r\nGET /a" + host + "\r\n");
    const std::string rest = wire.read_all(5s);
    CHECK(parse_reply(rest).status == 401);
    CHECK(rest.find("HTTP/1.1", 5) == std::string::npos);
  }

  TEST_CASE("malformed requests are refused, and the server lives on") {
    const Served served;
    const std::vector<std::string> malformed = {
        "\r\n\r\n",
        "GET\r\n\r\n",
        "GET / HTTP/9.9\r\n\r\n",
        "BREW / HTTP/1.1\r\nHost: x\r\n\r\n",
        "GET /%zz%f HTTP/1.1\r\n\r\n",
        "GET / HTTP/1.1\r\nno colon\r\n\r\n",
        std::string("GET /\0 HTTP/1.1\r\n\r\n", 19),
        "POST / HTTP/1.1\r\nContent-Length: -1\r\n\r\n",
        "POST / HTTP/1.1\r\nContent-Length: 99999999999999999999\r\n\r\n",
        "POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\nzz\r\n",
        "POST / HTTP/1.1\r\nTransfer-Encoding: chunked\r\n\r\nffffffffffffffff\r\nx",
        "GET / HTTP/1.1\r\nRange: bytes=5-2\r\n\r\n",
        std::string(100'000, 'A'),
        "GET /" + std::string(100'000, 'a') + " HTTP/1.1\r\n\r\n",
        std::string(5000, '\n'),
        "\x16\x03\x01\x02\x00\x01\x00\x01\xfc\x03\x03"};  // a browser that tries https
    for (const std::string& bytes : malformed) {
      CAPTURE(bytes.substr(0, 60));
      const Wire wire(served.server.port());
      wire.send(bytes);
      const Reply reply = parse_reply(wire.read_all(300ms));
      CHECK((reply.status == 0 || reply.status == 200 || reply.status >= 400));
      CHECK(served.client.get("/a").status == 200);
    }
  }

  TEST_CASE("too much is refused: a body, a head of many lines, a long address") {
    const Served served;
    const Reply body = served.client.ask("POST", "/a", std::string((1 << 20) + 1, 'x'));
    CHECK(body.status == 413);
    CHECK(served.client.ask("POST", "/a", std::string(1 << 20, 'x')).status == 200);
    CHECK(served.client.get("/" + std::string(9000, 'a')).status == 414);
    const Wire wire(served.server.port());
    wire.send("GET / HTTP/1.1\r\n");
    std::size_t sent = 0;
    while (sent < (std::size_t{8} << 20) && wire.send("A: " + std::string(4000, 'b') + "\r\n"))
      sent += 4000;
    CHECK(sent < std::size_t{8} << 20);  // it closed long before
  }

  TEST_CASE("200 connections that say nothing hold up nobody") {
    const Served served;
    std::vector<std::unique_ptr<Wire>> idle;
    for (int i = 0; i < 200; ++i) {
      idle.push_back(std::make_unique<Wire>(served.server.port()));
      REQUIRE(idle.back()->is_open());
      if (i % 2 == 0) idle.back()->send("GET / HTT");
    }
    const auto begin = Clock::now();
    CHECK(served.client.get("/a").status == 200);
    CHECK(seconds_since(begin) < 1);
    for (int i = 0; i < 100; ++i) idle.push_back(std::make_unique<Wire>(served.server.port()));
    const Reply refused = served.client.get("/a");
    CHECK(refused.status == 503);
    CHECK(refused.what() == "too many connections at once");
    idle.clear();
    for (int i = 0; i < 50 && served.client.get("/a").status != 200; ++i)
      std::this_thread::sleep_for(20ms);
    CHECK(served.client.get("/a").status == 200);
  }

  TEST_CASE("whoever reads nothing is given up, and others are served meanwhile") {
    const Served served;
    const Wire slow(served.server.port());
    slow.send("GET /large HTTP/1.1\r\nHost: x\r\n\r\n");
    const auto begin = Clock::now();
    CHECK(served.client.get("/a").status == 200);
    CHECK(seconds_since(begin) < 1);
    CHECK(served.client.get("/large").body.size() == std::size_t{20} << 20);
    std::this_thread::sleep_for(6s);  // ConnectionLimits::stalled, and a second
    CHECK(slow.read_all(1s).size() < std::size_t{20} << 20);
  }

  TEST_CASE("the server ends at once, whatever its connections wait for") {
    std::vector<std::unique_ptr<Wire>> wires;
    const auto served = std::make_unique<Served>();
    for (const char* text : {"", "GET / HT", "GET /a HTTP/1.1\r\nHost: x\r\n\r\n",
                             "POST /a HTTP/1.1\r\nContent-Length: 10\r\n\r\nabc",
                             "GET /large HTTP/1.1\r\nHost: x\r\n\r\n"}) {
      wires.push_back(std::make_unique<Wire>(served->server.port()));
      wires.back()->send(text);
    }
    std::this_thread::sleep_for(100ms);
    auto& server = const_cast<std::unique_ptr<Served>&>(served);
    const auto begin = Clock::now();
    server.reset();
    CHECK(seconds_since(begin) < 0.9);
  }

  TEST_CASE("a port is one server's, and is free again at once") {
    auto first = std::make_unique<HttpServer>("127.0.0.1", 0);
    const int port = first->port();
    CHECK(port > 0);
    std::string message;
    try {
      const HttpServer second("127.0.0.1", port);
    } catch (const lull::OutputError& error) {
      message = error.what();
    }
    CHECK(message.find("port " + std::to_string(port) + " of 127.0.0.1 is taken") == 0);
    first.reset();
    CHECK(HttpServer("127.0.0.1", port).port() == port);
    CHECK_THROWS_AS(HttpServer("no such host.invalid", 0), lull::UsageError);
    CHECK_THROWS_AS(HttpServer("192.0.2.1", 0), lull::OutputError);  // RFC 5737: nobody's
  }
}

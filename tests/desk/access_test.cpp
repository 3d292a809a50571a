#include "desk/access.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>
#include <set>

TEST_SUITE("desk/access") {
  namespace {

  using namespace lull::desk;

  Request request_with(const std::string& path) {
    Request request;
    request.path = path;
    request.host = "127.0.0.1:4700";
    return request;
  }

  int status_of(const std::optional<Response>& refusal) { return refusal ? refusal->status : 200; }

  Request with_key(const Access& access) {
    Request request = request_with("/api/desk");
    request.authorization = "Bearer " + access.key();
    return request;
  }

  }  // namespace

  TEST_CASE("a key has 128 bits in hexadecimal digits and does not repeat") {
    std::set<std::string> keys;
    for (int i = 0; i < 1000; ++i) {
      const std::string key = random_key();
      CHECK(key.size() == 32);
      CHECK(key.find_first_not_of("0123456789abcdef") == std::string::npos);
      keys.insert(key);
    }
    CHECK(keys.size() == 1000);
  }

  TEST_CASE("secrets are the same where every byte is") {
    CHECK(same_secret("abc", "abc"));
    CHECK_FALSE(same_secret("abc", "abd"));
    CHECK_FALSE(same_secret("abc", "Abc"));
    CHECK_FALSE(same_secret("abc", "ab"));
    CHECK_FALSE(same_secret("", "a"));
  }

  // Forms of a host: RFC 9110, section 7.2, and RFC 3986, section 3.2.2.
  TEST_CASE("the name of a host stands before its port") {
    CHECK(host_name("localhost:80") == "localhost");
    CHECK(host_name("localhost") == "localhost");
    CHECK(host_name("[::1]:80") == "[::1]");
    CHECK(host_name("[::1]") == "[::1]");
    CHECK(host_name("") == "");
    CHECK(host_name("]:") == "]");
    CHECK(is_address("127.0.0.1"));
    CHECK(is_address("[::1]"));
    CHECK(is_address("[fe80::1]"));
    CHECK_FALSE(is_address("::1"));
    CHECK_FALSE(is_address("[]"));
    CHECK_FALSE(is_address("127.0.0.1.example.org"));
    CHECK_FALSE(is_address("example.org"));
    CHECK_FALSE(is_address(""));
  }

  // RFC 6265, section 4.2.1.
  TEST_CASE("a cookie is found among others, by its whole name") {
    CHECK(cookie_value("a=1; lull=x; b=2", "lull") == "x");
    CHECK(cookie_value("lull=x", "lull") == "x");
    CHECK(cookie_value("lull=", "lull") == "");
    CHECK_FALSE(cookie_value("xlull=y", "lull"));
    CHECK_FALSE(cookie_value("lullx=y", "lull"));
    CHECK_FALSE(cookie_value("", "lull"));
    CHECK_FALSE(cookie_value(";;; ", "lull"));
  }

  TEST_CASE("the key lets in, as bearer or by the cookie that it sets; all else does not") {
    Access access("127.0.0.1", 4700);
    CHECK(status_of(access.check(with_key(access))) == 200);
    CHECK(status_of(access.check(request_with("/api/desk"))) == 401);
    Request wrong = with_key(access);
    wrong.authorization.back() = wrong.authorization.back() == '0' ? '1' : '0';
    CHECK(status_of(access.check(wrong)) == 401);
    wrong.authorization = "Basic " + access.key();
    CHECK(status_of(access.check(wrong)) == 401);

    Request first = request_with("/");
    CHECK(status_of(access.check(first)) == 401);
    first.parameters["key"] = "0123";
    CHECK(status_of(access.check(first)) == 401);
    first.parameters["key"] = access.key();
    const auto answer = access.check(first);
    REQUIRE(status_of(answer) == 303);
    std::string cookie;
    for (const auto& [name, value] : answer->headers) {
      if (name == "Set-Cookie") cookie = value;
      if (name == "Location") CHECK(value == "/");
    }
    CHECK(cookie.find("; HttpOnly") != std::string::npos);
    CHECK(cookie.find("; SameSite=Strict") != std::string::npos);
    CHECK(cookie.find(access.key()) == std::string::npos);
    Request later = request_with("/api/desk");
    later.cookie = "other=1; " + cookie.substr(0, cookie.find(';'));
    CHECK(status_of(access.check(later)) == 200);
    // The key is taken in the first address alone.
    Request elsewhere = request_with("/api/desk");
    elsewhere.parameters["key"] = access.key();
    CHECK(status_of(access.check(elsewhere)) == 401);
  }

  TEST_CASE("a key for one use is taken once") {
    Access access("127.0.0.1", 4700);
    Request first = request_with("/");
    first.parameters["key"] = access.one_time_key();
    CHECK(status_of(access.check(first)) == 303);
    CHECK(status_of(access.check(first)) == 401);
    Request api = request_with("/api/desk");
    api.authorization = "Bearer " + access.one_time_key();
    CHECK(status_of(access.check(api)) == 401);
    first.parameters["key"] = "";
    CHECK(status_of(access.check(first)) == 401);
  }

  TEST_CASE("hosts that are a name of somebody else are refused, even with the key") {
    Access access("observatory", 4700);
    for (const char* host : {"127.0.0.1:4700", "localhost:9000", "[::1]:4700", "192.0.2.7:4700",
                             "observatory:4700", "localhost"}) {
      CAPTURE(host);
      Request request = with_key(access);
      request.host = host;
      CHECK(status_of(access.check(request)) == 200);
    }
    for (const char* host : {"example.org", "example.org:4700", "localhost.example.org", "",
                             "127.0.0.1.example.org:4700", "observatory.example.org"}) {
      CAPTURE(host);
      Request request = with_key(access);
      request.host = host;
      CHECK(status_of(access.check(request)) == 403);
    }
  }

  // Fetch Standard, section 3.2: browsers state the origin of what a page sends.
  TEST_CASE("what a page of another origin sends is refused, even with the key") {
    Access access("127.0.0.1", 4700);
    Request request = with_key(access);
    request.origin = "http://127.0.0.1:4700";
    CHECK(status_of(access.check(request)) == 200);
    for (const char* origin : {"http://example.org", "null", "http://127.0.0.1:4701",
                               "https://127.0.0.1:4700", "", "http://localhost:4700"}) {
      CAPTURE(origin);
      request.origin = origin;
      CHECK(status_of(access.check(request)) == 403);
    }
  }
}

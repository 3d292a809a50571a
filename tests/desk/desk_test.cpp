// Covers: desk/desk, desk/desk_request, desk/desk_routes, desk/capture_routes
// Covers: desk/catalogue, desk/parts, desk/routes, desk/browser
#include "desk/desk.h"

#include <doctest/doctest.h>
#include <unistd.h>

#include <chrono>
#include <filesystem>
#include <fstream>
#include <thread>

#include "capture/capture.h"
#include "desk/browser.h"
#include "desk/served_desk.h"

TEST_SUITE("desk/desk") {
  namespace {

  using lull::test::Reply;
  using lull::test::sample;
  using lull::test::ServedDesk;
  using lull::test::Wire;
  using nlohmann::json;
  using namespace std::chrono_literals;
  namespace fs = std::filesystem;

  double processor_time_s() {
    timespec time{};
    ::clock_gettime(CLOCK_PROCESS_CPUTIME_ID, &time);
    return static_cast<double>(time.tv_sec) + 1e-9 * static_cast<double>(time.tv_nsec);
  }

  }  // namespace

  TEST_CASE("the folder is listed with what the captures are") {
    const ServedDesk served({"highland.mkv", "ringed_faint.ser", "telephone.mp4"});
    const json moon = served.listed("highland.mkv");
    const auto opened = lull::capture::Capture::open(sample("highland.mkv"));
    CHECK(moon.at("width") == opened->info().size.width_px);
    CHECK(moon.at("height") == opened->info().size.height_px);
    CHECK(moon.at("frames") == opened->info().storage.likely_frames);
    CHECK(moon.at("bytes") == fs::file_size(sample("highland.mkv")));
    CHECK(moon.at("colour") == "mono");
    CHECK(moon.at("error").is_null());
    CHECK(moon.at("health").is_null());
    CHECK(moon.at("surveyed") == false);
    CHECK(served.listed("telephone.mp4").at("colour") ==
          lull::capture::colour_name(
              lull::capture::Capture::open(sample("telephone.mp4"))->info().colour));
    CHECK(served.client().get("/api/captures").json().at("captures").size() == 3);
    const Reply details = served.client().get(served.capture("ringed_faint.ser"));
    CHECK(details.json().at("container") == "ser");
    CHECK(details.json().at("inspect").is_null());
  }

  TEST_CASE("the caution for the Sun is due by the name of a capture, and stays seen") {
    const ServedDesk served({"highland.mkv", "granules.mkv"});
    fs::copy_file(sample("granules.mkv"), served.folder() / "sun.mkv");
    fs::copy_file(sample("highland.mkv"), served.folder() / "moon.mkv");
    CHECK(served.listed("sun.mkv").at("sun") == "named");
    CHECK(served.listed("granules.mkv").at("sun") == "possible");
    CHECK(served.listed("moon.mkv").at("sun") == "no");
    const json desk = served.client().get("/api/desk").json();
    CHECK(desk.at("sun_caution").get<std::string>().find("The Sun: record it only with") == 0);
    CHECK(desk.at("sun_caution_seen") == false);
    CHECK(served.client().post("/api/desk/sun-caution", {}).status == 200);
    CHECK(served.client().get("/api/desk").json().at("sun_caution_seen") == true);
  }

  TEST_CASE("nothing is answered without the key, by another host or to another origin") {
    const ServedDesk served({"highland.mkv"});
    const auto& client = served.client();
    for (const char* target :
         {"/", "/index.html", "/look.css", "/api/desk", "/api/captures", "/api/events", "/x"}) {
      CAPTURE(target);
      CHECK(client.ask("GET", target, "", {{"Authorization", ""}}).status == 401);
      CHECK(client.ask("GET", target, "", {{"Authorization", "Bearer 00"}}).status == 401);
      CHECK(client.ask("GET", target, "", {{"Host", "example.org"}}).status == 403);
      CHECK(client.ask("GET", target, "", {{"Origin", "http://example.org"}}).status == 403);
    }
    CHECK(client.ask("POST", "/api/desk/sun-caution", "{}", {{"Authorization", ""}}).status == 401);
    CHECK(client.get("/api/desk").json().at("sun_caution_seen") == false);
    const Reply first = client.ask("GET", "/?key=" + client.key(), "", {{"Authorization", ""}});
    CHECK(first.status == 303);
    CHECK(first.headers.at("location") == "/");
    const std::string cookie = first.headers.at("set-cookie");
    const Reply page = client.ask(
        "GET", "/", "", {{"Authorization", ""}, {"Cookie", cookie.substr(0, cookie.find(';'))}});
    CHECK(page.status == 200);
    CHECK(page.headers.at("content-type") == "text/html; charset=utf-8");
  }

  TEST_CASE("no path leads out of what is served") {
    const ServedDesk served({"highland.mkv"});
    std::ofstream(served.folder() / "secret.txt") << "secret";
    fs::create_symlink("/etc/passwd", served.folder() / "passwd.ser");
    for (const char* target :
         {"/../../../etc/passwd", "/..%2f..%2f..%2fetc%2fpasswd", "/%2e%2e/%2e%2e/etc/passwd",
          "/api/captures/../../etc/passwd", "/api/captures/%2e%2e%2f%2e%2e%2fetc%2fpasswd",
          "/api/captures/..%2fsecret.txt/thumbnail", "/api/captures/secret.txt/thumbnail",
          "/api/captures/passwd.ser/frames/0", "/secret.txt", "//etc/passwd", "/\\..\\secret.txt",
          "/api/captures/highland.mkv%00/thumbnail", "/./index.html", "/%2findex.html"}) {
      CAPTURE(target);
      const Reply reply = served.client().get(target);
      CHECK(reply.status == 404);
      CHECK(reply.body.find("root:") == std::string::npos);
    }
    CHECK(served.client().get("/api/captures").json().at("captures").size() == 1);
  }

  TEST_CASE("captures that appear, grow, are damaged or vanish are seen so") {
    const ServedDesk served;
    CHECK(served.client().get("/api/captures").json().at("captures").empty());
    {
      std::ifstream whole(sample("ringed_faint.ser"), std::ios::binary);
      std::string half(fs::file_size(sample("ringed_faint.ser")) / 2, '\0');
      whole.read(half.data(), static_cast<std::streamsize>(half.size()));
      std::ofstream(served.folder() / "r.ser", std::ios::binary) << half;
    }
    const json half = served.listed("r.ser");
    CHECK(half.at("growing") == true);
    CHECK(half.at("error").is_null());
    fs::copy_file(sample("ringed_faint.ser"), served.folder() / "r.ser",
                  fs::copy_options::overwrite_existing);
    const json whole = served.listed("r.ser");
    CHECK(whole.at("bytes") == fs::file_size(sample("ringed_faint.ser")));
    CHECK(whole.at("id") == half.at("id"));
    std::ofstream(served.folder() / "bad.ser") << "no capture";
    const json bad = served.listed("bad.ser");
    // Its name stands beside it.
    const auto what = bad.at("error").at("what").get<std::string>();
    CHECK_FALSE(what.empty());
    CHECK(what.find("bad.ser") == std::string::npos);
    CHECK(bad.at("width").is_null());
    const std::string address = served.capture("bad.ser");
    CHECK(served.client().get(address + "/thumbnail").status == 422);
    const std::string gone = served.capture("r.ser");
    CHECK(served.client().get(gone + "/thumbnail").status == 200);
    fs::remove(served.folder() / "r.ser");
    CHECK(served.listed("r.ser").is_null());
    CHECK(served.client().get(gone + "/thumbnail").status == 404);
  }

  TEST_CASE("a folder that vanishes is reported, and is shown again when it is back") {
    const ServedDesk served({"highland.mkv"});
    CHECK_FALSE(served.listed("highland.mkv").is_null());
    const std::string away = served.folder().path() + ".away";
    fs::rename(served.folder().path(), away);
    const json list = served.client().get("/api/captures").json();
    CHECK(list.at("captures").empty());
    REQUIRE(list.at("problems").size() == 1);
    CHECK(served.client().get("/api/desk").json().at("folder_error").at("what") ==
          list.at("problems")[0].at("what"));
    fs::rename(away, served.folder().path());
    CHECK_FALSE(served.listed("highland.mkv").is_null());
    CHECK(served.client().get("/api/desk").json().at("folder_error").is_null());
  }

  // Bound: of the time of the processor, since others may use the machine.
  TEST_CASE("a folder of 10,000 files is listed before all are opened, and costs little") {
    const ServedDesk served;
    for (int i = 0; i < 10'000; ++i)
      std::ofstream(served.folder() / ("c" + std::to_string(i) + ".ser")) << "x";
    const double before = processor_time_s();
    const json list = served.client().get("/api/captures").json();
    CHECK(list.at("captures").size() == 10'000);
    CHECK(processor_time_s() - before < 5);
    CHECK(served.client().get("/api/desk").status == 200);
  }

  TEST_CASE("listeners get news of the folder without asking") {
    const ServedDesk served({"highland.mkv"});
    static_cast<void>(served.listed("highland.mkv"));
    const Wire wire(served.client().port());
    wire.send("GET /api/events HTTP/1.1\r\nHost: localhost\r\nAuthorization: Bearer " +
              served.client().key() + "\r\n\r\n");
    const std::string head = wire.read_until("the desk", 5s);
    CHECK(head.find("text/event-stream") != std::string::npos);
    CHECK(head.find(": the desk\n\n") != std::string::npos);
    fs::copy_file(sample("granules.mkv"), served.folder() / "new.mkv");
    CHECK(wire.read_until("event: captures\ndata: {}\n\n", 8s).find("event: captures") !=
          std::string::npos);
  }

  TEST_CASE("an idle desk uses no time of the processor") {
    const ServedDesk served({"highland.mkv"});
    static_cast<void>(served.listed("highland.mkv"));
    std::this_thread::sleep_for(6s);  // until idle connections have ended
    const double before = processor_time_s();
    std::this_thread::sleep_for(3s);
    CHECK(processor_time_s() - before < 0.01);
  }

  // OpenAPI Specification 3.1.0, section 4.8.8.
  TEST_CASE("every address and method of the OpenAPI file is answered, and no other method") {
    const ServedDesk served;
    std::ifstream file(std::string(LULL_TESTS) + "/../src/docs/desk-api.json");
    const json paths = json::parse(file).at("paths");
    CHECK(paths.size() > 15);
    for (const auto& [pattern, methods] : paths.items()) {
      if (pattern == "/api/events") continue;  // it never ends
      std::string path = pattern;
      for (auto at = path.find('{'); at != std::string::npos; at = path.find('{'))
        path.replace(at, path.find('}') - at + 1, "9");
      for (const auto& [asked, name] :
           {std::pair{"GET", "get"}, {"POST", "post"}, {"DELETE", "delete"}}) {
        const std::string method = asked;
        CAPTURE(method);
        CAPTURE(path);
        const Reply reply = served.client().ask(method, path, "{}");
        CHECK((reply.status == 405) == !methods.contains(name));
        if (reply.status == 404) CHECK(reply.what() != "there is nothing at this address");
      }
    }
  }

  TEST_CASE("addresses of this machine alone are known") {
    for (const char* address : {"127.0.0.1", "127.1.2.3", "::1", "localhost"})
      CHECK(lull::desk::is_loopback(address));
    for (const char* address : {"0.0.0.0", "::", "192.0.2.1", "observatory"})
      CHECK_FALSE(lull::desk::is_loopback(address));
  }

  TEST_CASE("without a desktop no browser is opened") {
    ::unsetenv("DISPLAY");
    ::unsetenv("WAYLAND_DISPLAY");
    CHECK_FALSE(lull::desk::open_in_browser("http://127.0.0.1:1/"));
  }

  TEST_CASE("results go beside the captures unless told otherwise") {
    lull::desk::DeskRequest request;
    request.folder = "a";
    CHECK(request.results_folder() == "a/results");
    request.results = "b";
    CHECK(request.results_folder() == "b");
  }
}

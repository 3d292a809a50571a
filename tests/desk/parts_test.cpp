// Covers: desk/events, desk/router, desk/parameters, desk/option_values
// Covers: desk/job, desk/job_queue, desk/result_names
#include <doctest/doctest.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <fstream>
#include <mutex>
#include <nlohmann/json.hpp>
#include <semaphore>
#include <thread>

#include "core/error.h"
#include "desk/events.h"
#include "desk/job_queue.h"
#include "desk/option_values.h"
#include "desk/parameters.h"
#include "desk/result_names.h"
#include "desk/router.h"
#include "run/stack_request.h"
#include "support/run_program.h"
#include "support/text.h"

TEST_SUITE("desk/parts") {
  namespace {

  using namespace lull::desk;
  using namespace std::chrono_literals;
  using lull::test::contains;
  using lull::test::kOwnMemory;
  using nlohmann::json;

  template <class Ask>
  int status_of(const Ask& ask) {
    try {
      ask();
      return 200;
    } catch (const Problem& problem) {
      return problem.status();
    } catch (const lull::UsageError&) {
      return 400;
    }
  }

  JobFacts facts_of(const std::string& verb) {
    JobFacts facts;
    facts.verb = verb;
    return facts;
  }

  // Steps until it is let go.
  JobWork endless(std::atomic<int>& steps) {
    return {{{"counting", 1, 1}}, [&steps](const lull::run::RunControl& control) {
              while (true) {
                control.progress.step("counting", ++steps, 1'000'000);
                std::this_thread::sleep_for(1ms);
              }
              return JobOutcome{};
            }};
  }

  JobWork instant(std::vector<std::string> written = {}) {
    return {{}, [written](const lull::run::RunControl&) {
              return JobOutcome{written, {"mind this"}};
            }};
  }

  JobWork failing() {
    return {{}, [](const lull::run::RunControl&) -> JobOutcome {
              throw lull::OutputError("moon.tif: the disk is full; make room");
            }};
  }

  double resident_mib() {
    std::ifstream file("/proc/self/statm");
    double whole = 0;
    double resident = 0;
    file >> whole >> resident;
    return resident * static_cast<double>(::sysconf(_SC_PAGESIZE)) / (1 << 20);
  }

  Job wait_for(const JobQueue& queue, int id, JobState state) {
    for (int i = 0; i < 5000 && queue.job(id).state != state; ++i) std::this_thread::sleep_for(1ms);
    return queue.job(id);
  }

  }  // namespace

  TEST_CASE("a path leads to the route whose parts it has") {
    Router router;
    std::string seen;
    router.add(Method::get, "/api/jobs/{id}", [&](const Call& call) {
      seen = call.part("id");
      return Response{};
    });
    const auto ask = [&](Method method, const std::string& path) {
      Request request;
      request.method = method;
      request.path = path;
      return status_of([&] { static_cast<void>(router.answer(request)); });
    };
    CHECK(ask(Method::get, "/api/jobs/7") == 200);
    CHECK(seen == "7");
    CHECK(ask(Method::get, "/api/jobs/../../etc/passwd") == 404);
    CHECK(ask(Method::get, "/api/jobs/") == 404);
    CHECK(ask(Method::get, "/api/jobs") == 404);
    CHECK(ask(Method::get, "/api/jobs/7/") == 404);
    CHECK(ask(Method::get, "//api/jobs/7") == 404);
    CHECK(ask(Method::get, "") == 404);
    CHECK(ask(Method::remove, "/api/jobs/7") == 405);
  }

  TEST_CASE("numbers, areas and words are read strictly") {
    const Parameters given = {{"n", "12"},        {"minus", "-1"},       {"half", "0.5"},
                              {"word", "png"},    {"box", "1,2,30,40"},  {"out", "500,500,9,9"},
                              {"three", "1,2,3"}, {"five", "1,2,3,4,5"}, {"wide", "0,0,999999,5"}};
    CHECK(whole_number(given, "n", 0, 20) == 12);
    CHECK_FALSE(whole_number(given, "none", 0, 20));
    CHECK(number(given, "half") == 0.5);
    CHECK(word(given, "word", {"jpeg", "png"}) == "png");
    CHECK(word(given, "none", {"jpeg", "png"}) == "jpeg");
    CHECK(*area(given, "box", {100, 100}) == lull::Box{1, 2, 31, 42});
    CHECK(*area(given, "wide", {100, 100}) == lull::Box{0, 0, 100, 5});
    CHECK(status_of([&] { static_cast<void>(whole_number(given, "n", 0, 11)); }) == 400);
    CHECK(status_of([&] { static_cast<void>(whole_number(given, "minus", 0, 11)); }) == 400);
    CHECK(status_of([&] { static_cast<void>(whole_number(given, "half", 0, 11)); }) == 400);
    CHECK(status_of([&] { static_cast<void>(word(given, "word", {"jpeg"})); }) == 400);
    for (const char* name : {"out", "three", "five", "word"}) {
      CAPTURE(name);
      CHECK(status_of([&] { static_cast<void>(area(given, name, {100, 100})); }) == 400);
    }
  }

  TEST_CASE("options are those of the command line, with its words where they are wrong") {
    lull::run::StackRequest request;
    const auto& table = lull::run::stack_options();
    apply_options(table, {{"--keep", "15%"}, {"--patch", 48}, {"--exclude", "3,5-9"}}, {}, request);
    CHECK(request.input.part.excluded.size() == 2);
    CHECK(request.stacking.patch_px == 48);
    const auto apply = [&](const json& options) {
      return status_of([&] { apply_options(table, options, {"--dark"}, request); });
    };
    CHECK(apply({{"--keeps", "15%"}}) == 400);
    CHECK(apply({{"--dark", "/etc/passwd"}}) == 400);
    CHECK(apply({{"--keep", json::object()}}) == 400);
    CHECK(apply({{"--keep", {"1", "2"}}}) == 400);
    CHECK(apply({{"--keep", nullptr}}) == 400);
    CHECK(apply({{"--keep", "much"}}) == 400);
    CHECK(apply(json::array()) == 400);
  }

  TEST_CASE("files of one run are one result") {
    for (const char* file : {"moon.tif", "moon.linear.fits", "moon.recipe.json", "moon.finish.json",
                             "moon.html", "moon.finish.html", "a/b/moon.png"}) {
      CAPTURE(file);
      CHECK(result_stem(file) == "moon");
      CHECK(result_id(file) == result_id("moon"));
    }
    CHECK(result_stem("moon.2.tif") == "moon.2");
    CHECK(result_id("mars.tif") != result_id("moon.tif"));
  }

  TEST_CASE("a listener gets the newest of each thing, and the end") {
    Events events;
    const auto stream = events.open();
    CHECK(events.has_listeners());
    CHECK(contains(stream->next().value(), ": "));
    for (int i = 0; i < 1000; ++i) events.publish("job", "7", {{"share", i}});
    events.publish("job", "8", {{"share", 1}});
    events.publish("captures", "", json::object());
    CHECK(stream->next() ==
          "event: job\ndata: {\"share\":999}\n\nevent: job\ndata: "
          "{\"share\":1}\n\nevent: captures\ndata: {}\n\n");
    std::thread later([&] {
      std::this_thread::sleep_for(20ms);
      events.close();
    });
    CHECK_FALSE(stream->next());
    later.join();
  }

  TEST_CASE("so many streams and no more; a closed one makes room") {
    Events events;
    std::vector<std::shared_ptr<Events::Stream>> streams;
    for (std::size_t i = 0; i < Events::kMostStreams; ++i) streams.push_back(events.open());
    CHECK(status_of([&] { static_cast<void>(events.open()); }) == 503);
    streams.pop_back();
    CHECK(status_of([&] { static_cast<void>(events.open()); }) == 200);
    bool gone = false;
    const auto left = events.open([&] { return gone; });
    CHECK(left->next().has_value());  // its first words
    CHECK(status_of([&] { static_cast<void>(events.open()); }) == 503);
    gone = true;
    streams.push_back(events.open());
    CHECK_FALSE(left->next().has_value());
    CHECK(status_of([&] { static_cast<void>(events.open()); }) == 503);
    streams.clear();
    CHECK_FALSE(events.has_listeners());
  }

  TEST_CASE("jobs run one after the other, in the order of creation") {
    std::mutex guard;
    std::vector<std::string> seen;
    JobQueue queue({}, [&](const Job& job) {
      const std::scoped_lock lock(guard);
      seen.push_back(std::to_string(job.id) + state_name(job.state));
    });
    std::atomic<int> steps{0};
    const int first = queue.add(facts_of("stack"), endless(steps)).id;
    const int second = queue.add(facts_of("stack"), instant({"a/moon.tif"})).id;
    const int third = queue.add(facts_of("stack"), failing()).id;
    CHECK(wait_for(queue, first, JobState::running).share >= 0);
    while (steps < 3) std::this_thread::sleep_for(1ms);
    CHECK(queue.job(second).state == JobState::waiting);
    queue.cancel(first);
    CHECK(wait_for(queue, first, JobState::cancelled).state == JobState::cancelled);
    const Job done = wait_for(queue, second, JobState::done);
    CHECK(done.share == 1);
    CHECK(done.warnings == std::vector<std::string>{"mind this"});
    CHECK(to_json(done).at("results") == json::array({result_id("moon.tif")}));
    const Job failed = wait_for(queue, third, JobState::failed);
    REQUIRE(failed.problem);
    CHECK(to_json(failed).at("error") ==
          json{{"what", "moon.tif: the disk is full"}, {"do", "make room"}});
    CHECK(queue.jobs().front().id == third);
    const std::scoped_lock lock(guard);
    CHECK(seen.front() == std::to_string(first) + "waiting");
    CHECK(seen.back() == std::to_string(third) + "failed");
  }

  TEST_CASE("a paused job stands still, goes on, and can be cancelled while it stands") {
    JobQueue queue({}, [](const Job&) {});
    std::atomic<int> steps{0};
    const int id = queue.add(facts_of("stack"), endless(steps)).id;
    while (steps < 3) std::this_thread::sleep_for(1ms);
    CHECK(queue.pause(id).state == JobState::paused);
    std::this_thread::sleep_for(20ms);
    const int stood = steps;
    std::this_thread::sleep_for(50ms);
    CHECK(steps <= stood + 1);
    CHECK(queue.resume(id).state == JobState::running);
    while (steps < stood + 5) std::this_thread::sleep_for(1ms);
    CHECK(status_of([&] { static_cast<void>(queue.resume(id)); }) == 409);
    CHECK(status_of([&] { queue.forget(id); }) == 409);
    queue.pause(id);
    queue.cancel(id);
    CHECK(wait_for(queue, id, JobState::cancelled).state == JobState::cancelled);
    CHECK(status_of([&] { static_cast<void>(queue.pause(id)); }) == 409);
    queue.forget(id);
    CHECK(status_of([&] { static_cast<void>(queue.job(id)); }) == 404);
    CHECK(status_of([&] { static_cast<void>(queue.cancel(99)); }) == 404);
  }

  TEST_CASE("a waiting job that is paused lets others pass; cancelled it never runs") {
    JobQueue queue({}, [](const Job&) {});
    std::atomic<int> steps{0};
    const int first = queue.add(facts_of("stack"), endless(steps)).id;
    const int second = queue.add(facts_of("stack"), instant()).id;
    const int third = queue.add(facts_of("stack"), instant()).id;
    const int fourth = queue.add(facts_of("stack"), instant()).id;
    queue.pause(second);
    CHECK(queue.cancel(third).state == JobState::cancelled);
    queue.cancel(first);
    CHECK(wait_for(queue, fourth, JobState::done).state == JobState::done);
    CHECK(queue.job(second).state == JobState::paused);
    CHECK(queue.job(third).started_s == 0);
    queue.resume(second);
    CHECK(wait_for(queue, second, JobState::done).state == JobState::done);
  }

  // A block that stays keeps glibc from giving back the rest by itself.
  TEST_CASE("the memory of a job goes back to the system when it ends") {
    JobQueue queue({}, [](const Job&) {});
    std::string stays;
    const auto fill = [&stays](const lull::run::RunControl&) {
      std::vector<std::string> blocks;
      for (int i = 0; i < 40'000; ++i) blocks.emplace_back(4000, 'x');
      stays.assign(4000, 'y');
      CHECK(resident_mib() > 150);
      return JobOutcome{};
    };
    const double before = resident_mib();
    const int id = queue.add(facts_of("stack"), {{}, fill}).id;
    wait_for(queue, id, JobState::done);
    if (kOwnMemory) CHECK(resident_mib() < before + 20);
  }

  TEST_CASE("a queue that ends cancels what runs, at once") {
    std::atomic<int> steps{0};
    const auto begin = std::chrono::steady_clock::now();
    {
      JobQueue queue({}, [](const Job&) {});
      const int id = queue.add(facts_of("stack"), endless(steps)).id;
      queue.add(facts_of("stack"), endless(steps));
      while (steps < 3) std::this_thread::sleep_for(1ms);
      queue.pause(id);
    }
    CHECK(std::chrono::steady_clock::now() - begin < 1s);
  }

  TEST_CASE("too many waiting jobs are refused, and the oldest ended ones forgotten") {
    JobQueue queue({}, [](const Job&) {});
    std::atomic<int> steps{0};
    const int first = queue.add(facts_of("stack"), endless(steps)).id;
    for (std::size_t i = 1; i < JobQueue::kMostWaiting; ++i)
      queue.add(facts_of("stack"), instant());
    CHECK(status_of([&] { queue.add(facts_of("stack"), instant()); }) == 503);
    queue.cancel(first);
    for (int i = 0; i < 5000 && queue.jobs().front().state != JobState::done; ++i)
      std::this_thread::sleep_for(1ms);
    for (int i = 0; i < 20; ++i) queue.add(facts_of("stack"), instant());
    for (int i = 0; i < 5000 && !queue.jobs().front().has_ended(); ++i)
      std::this_thread::sleep_for(1ms);
    CHECK(queue.jobs().size() == JobQueue::kMostEnded);
  }

  TEST_CASE("times of jobs are UTC") {
    CHECK(time_json(0).is_null());
    // date -u -d @1772396043 of GNU coreutils 9.1.
    CHECK(time_json(1'772'396'043) == "2026-03-01T20:14:03Z");
    CHECK(time_json(1) == "1970-01-01T00:00:01Z");
  }
}

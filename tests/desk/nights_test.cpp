// Covers: desk/nights, desk/night_routes, desk/page_response, night/night_state
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>

#include "desk/served_desk.h"
#include "night/claim.h"
#include "night/night_state.h"
#include "night/record.h"

TEST_SUITE("desk/nights") {
  using lull::test::Reply;
  using lull::test::ServedDesk;
  using nlohmann::json;
  using namespace lull::night;
  namespace fs = std::filesystem;

  namespace {

  // As a night leaves it: a picture of each capture, of which one is done, one failed, one is at
  // work and one waits.
  NightFolder night_in(const fs::path& results, const fs::path& captures) {
    const NightFolder place(results);
    Plan plan;
    for (const char* name : {"done", "failed", "busy", "next"})
      plan.pictures.push_back(
          {.name = name, .captures = {captures / (std::string(name) + ".mkv")}});
    plan.merges.push_back({.name = "colour"});
    plan.left_out = {{captures / "bro\xFFken.ser", "cut short", true}};
    plan.sets = {{"repeats", {"done", "next"}, "again"}};
    save_plan(plan, place);
    for (const char* name : {"done", "failed", "busy"}) {
      NightJob job;
      job.name = name;
      job.stack().input.captures = {std::string("../in/") + name + ".mkv"};
      Record record = record_of_failure(job, "cut short; copy it again", 3);
      record.done = job.name == "done";
      if (job.name == "busy") record.status = 130;
      save_record(place, record);
    }
    for (const char* file : {"night.html", "done.html", "failed.html", "other.html"})
      std::ofstream(results / file) << "page";
    return place;
  }

  json picture(const json& night, const std::string& name) {
    for (const json& one : night.at("pictures")) {
      if (one.at("name") == name) return one;
    }
    return nullptr;
  }

  }  // namespace

  TEST_CASE("a night in the folder is told of, with the state of each picture") {
    const ServedDesk served;
    for (const char* name : {"done.mkv", "failed.mkv", "busy.mkv", "next.mkv"})
      fs::copy_file(lull::test::sample("granules_dark.mkv"), served.folder() / name);
    CHECK(served.client().get("/api/nights").json().at("nights").empty());
    const NightFolder place = night_in(served.folder() / "night of march", served.folder().path());
    const lull::CancelToken cancel;
    auto claim = Claim::take(place.lock("busy"), cancel, Claim::Holder::refuses);
    static_cast<void>(served.listed("next.mkv"));
    const json nights = served.client().get("/api/nights").json().at("nights");
    REQUIRE(nights.size() == 1);
    const json& night = nights[0];
    CHECK(night.at("results") == "night of march");
    CHECK(night.at("has_page") == true);
    CHECK(picture(night, "done").at("state") == "done");
    CHECK(picture(night, "done").at("captures")[0] == served.listed("done.mkv").at("id"));
    CHECK(picture(night, "failed").at("state") == "failed");
    CHECK(picture(night, "failed").at("error").at("what") == "cut short");
    CHECK(picture(night, "failed").at("error").at("do") == "copy it again");
    CHECK(picture(night, "busy").at("state") == "at work");
    CHECK(picture(night, "next").at("state") == "waiting");
    CHECK(picture(night, "colour").at("state") == "waiting");
    const auto noted = noted_plan(place);
    REQUIRE(noted);
    CHECK(noted->names.size() == 5);
    REQUIRE(noted->left_out.size() == 1);
    CHECK(noted->left_out[0].capture == served.folder().path() + "/bro\xFFken.ser");
    CHECK(noted->left_out[0].is_problem);
    CHECK(noted->sets.at(0).pictures == std::vector<std::string>{"done", "next"});
    claim.reset();
    const json later = served.client().get("/api/nights").json().at("nights")[0];
    CHECK(picture(later, "busy").at("state") == "waiting");
    CHECK(picture(later, "busy").at("error").is_null());

    // Its page and what that leads to, and nothing else of the folder.
    const std::string at = "/api/nights/" + night.at("id").get<std::string>() + "/";
    const Reply page = served.client().get(at + "night.html");
    CHECK(page.status == 200);
    CHECK(page.body == "page");
    CHECK(page.headers.at("content-security-policy").find("'unsafe-inline'") == std::string::npos);
    CHECK(page.headers.at("content-security-policy").find("sandbox") == std::string::npos);
    const Reply report = served.client().get(at + "done.html");
    CHECK(report.status == 200);
    CHECK(report.headers.at("content-security-policy").starts_with("sandbox "));
    for (const char* name : {"failed.html", "other.html", "night/state/done.json", "../done.mkv",
                             "night/../done.html", "%2e%2e/done.mkv"}) {
      CAPTURE(name);
      CHECK(served.client().get(at + name).status == 404);
    }
    CHECK(served.client().get("/api/nights/0/night.html").status == 404);
  }

  TEST_CASE("nights of other captures, of the same names too, are not told of") {
    const ServedDesk served;
    fs::copy_file(lull::test::sample("granules_dark.mkv"), served.folder() / "done.mkv");
    static_cast<void>(night_in(served.folder() / "out", "/another/night"));
    static_cast<void>(served.listed("done.mkv"));
    CHECK(served.client().get("/api/nights").json().at("nights").empty());
    // A plan that is damaged, or is being written, is no error.
    std::ofstream(served.folder() / "out/night/plan.json") << "{";
    CHECK_FALSE(noted_plan(NightFolder(served.folder() / "out")));
    CHECK(served.client().get("/api/nights").status == 200);
  }
}

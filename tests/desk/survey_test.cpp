// Covers: desk/surveys, desk/survey_routes, desk/job_routes
#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <thread>

#include "desk/served_desk.h"
#include "support/run_program.h"

TEST_SUITE("desk/survey") {
  namespace {

  using namespace lull::test;
  using nlohmann::json;

  json output_of(const std::vector<std::string>& arguments) {
    const Run run = run_lull(arguments);
    REQUIRE(run.status == 0);
    return json::parse(run.output);
  }

  }  // namespace

  TEST_CASE("a survey has the order and the sharpness of lull rank, and the findings of inspect") {
    const ServedDesk served({"highland.mkv"});
    const std::string address = served.capture("highland.mkv") + "/survey";
    CHECK(served.client().get(address).status == 409);
    const Reply started = served.client().post(address, json::object());
    REQUIRE(started.status == 201);
    CHECK(started.json().at("verb") == "survey");
    REQUIRE(served.end_of_job(started.json()).at("state") == "done");
    const json survey = served.client().get(address).json();
    const std::string capture = served.folder().file("highland.mkv");
    const json ranked = output_of({"rank", capture, "--json", "--quiet"});
    CHECK(survey.at("order") == ranked.at("best_first"));
    const json& frames = ranked.at("frames");
    REQUIRE(survey.at("sharpness").size() == frames.size());
    for (std::size_t i = 0; i < frames.size(); ++i) {
      if (survey.at("left_out")[i].is_null())
        CHECK(survey.at("sharpness")[i] == frames[i].at("sharpness"));
      else
        CHECK(survey.at("left_out")[i] == frames[i].at("flags"));
    }
    const json inspected = output_of({"inspect", capture, "--json", "--quiet"});
    CHECK(survey.at("inspect").at("findings") == inspected.at("findings"));
    const json listed = served.listed("highland.mkv");
    CHECK(listed.at("surveyed") == true);
    CHECK(listed.at("health").at("advice").size() == inspected.at("findings").size());
    CHECK(listed.at("target") == inspected.at("target").at("kind"));
    const json trend = served.client().get(served.capture("highland.mkv")).json().at("trend");
    CHECK(trend.at("sharpness_best_tenth") > trend.at("sharpness_middle"));
    CHECK(trend.at("altitude_deg").is_null());  // no profile, no moment
    CHECK(served.client().get(served.capture("highland.mkv") + "/thumbnail").status == 200);
    // Once is enough, unless the options differ.
    CHECK(served.client().post(address, json::object()).json().at("state") == "done");
    const Reply other = served.client().post(address, {{"options", {{"--metric", "coarse"}}}});
    CHECK(other.status == 201);
    CHECK(served.end_of_job(other.json()).at("state") == "done");
    CHECK(served.client().get(address).json().at("measure") == "coarse");
  }

  TEST_CASE("what a survey cannot be asked for is refused, and a changed capture has none") {
    const ServedDesk served({"ringed_faint.ser"});
    const std::string address = served.capture("ringed_faint.ser") + "/survey";
    for (const json& body :
         {json{{"options", {{"--csv", "/tmp/x.csv"}}}}, json{{"options", {{"--metric", "x"}}}},
          json{{"options", 7}}, json{{"options", {{"capture", "/etc/passwd"}}}}}) {
      CAPTURE(body.dump());
      CHECK(served.client().post(address, body).status == 400);
    }
    CHECK(served.client().ask("POST", address, "no json").status == 400);
    CHECK(served.client().ask("POST", address, "[]").status == 400);
    const Reply started = served.client().post(address, json::object());
    REQUIRE(served.end_of_job(started.json()).at("state") == "done");
    CHECK(served.client().get(address).status == 200);
    std::filesystem::resize_file(served.folder() / "ringed_faint.ser", 100'000);
    CHECK(served.client().get("/api/captures").status == 200);
    CHECK(served.client().get(address).status == 409);
  }

  TEST_CASE("a capture of which nothing is usable fails with the words of the command line") {
    const ServedDesk served;
    std::ofstream(served.folder() / "black.y4m") << "YUV4MPEG2 W64 H64 F25:1 Cmono\nFRAME\n"
                                                 << std::string(64 * 64, '\0');
    const Reply started =
        served.client().post(served.capture("black.y4m") + "/survey", json::object());
    REQUIRE(started.status == 201);
    const json job = served.end_of_job(started.json());
    CHECK(job.at("state") == "failed");
    CHECK(job.at("error").at("what").get<std::string>().find("black.y4m") != std::string::npos);
  }

  TEST_CASE("jobs are listed, cancelled, forgotten, and refused where they are not") {
    const ServedDesk served({"granules.mkv"});
    const Reply started =
        served.client().post(served.capture("granules.mkv") + "/survey", json::object());
    const std::string address = "/api/jobs/" + std::to_string(started.json().at("id").get<int>());
    CHECK(served.client().get("/api/jobs").json().at("jobs").size() == 1);
    CHECK(served.client().ask("DELETE", address).status == 200);
    CHECK(served.end_of_job(started.json()).at("state") == "cancelled");
    CHECK(served.client().ask("POST", address + "/pause").status == 409);
    CHECK(served.client().ask("DELETE", address).status == 200);
    CHECK(served.client().get(address).status == 404);
    CHECK(served.client().get("/api/jobs/0").status == 400);
    CHECK(served.client().get("/api/jobs/x").status == 400);
    CHECK(served.client().ask("POST", "/api/jobs/1/dance").status == 404);
  }
}

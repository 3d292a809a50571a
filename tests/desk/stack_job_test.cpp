// Covers: desk/stack_job, desk/result_index, desk/result_routes, desk/option_json
// Covers: desk/job_record, desk/growing_stack, desk/sample_response, stack/stack_watcher
// Covers: run/stack_estimate, desk/instruments
#include "desk/stack_job.h"

#include <doctest/doctest.h>

#include <filesystem>
#include <fstream>
#include <iterator>
#include <thread>

#include "core/error.h"
#include "desk/growing_stack.h"
#include "desk/job_record.h"
#include "desk/problem.h"
#include "desk/result_index.h"
#include "desk/served_desk.h"
#include "support/bytes.h"
#include "support/run_program.h"
#include "support/text.h"

TEST_SUITE("desk/stack_job") {
  namespace {

  using namespace lull;
  using namespace std::chrono_literals;
  using nlohmann::json;
  using test::contains;
  using test::Reply;
  using test::ServedDesk;
  namespace fs = std::filesystem;

  std::string id_of(const ServedDesk& served, const std::string& name) {
    return served.listed(name).at("id");
  }

  json stack_body(const ServedDesk& served, const std::string& name, const json& options = {}) {
    json body = {{"verb", "stack"}, {"captures", {id_of(served, name)}}};
    if (!options.is_null()) body["options"] = options;
    return body;
  }

  // The words of a command whose names need no quotes.
  std::vector<std::string> words_of(const std::string& command) {
    std::istringstream in(command);
    return {std::istream_iterator<std::string>(in), {}};
  }

  }  // namespace

  TEST_CASE("forms begin with what the profile gives, and what is asked for wins") {
    ServedDesk served({"ringed_faint.ser"});
    const std::string profile = served.folder().file("p.toml");
    std::ofstream(profile) << "[optics]\naperture_mm = 250\nfocal_length_mm = 3750\n[camera]\n"
                              "pixel_um = 3.75\n[options.saturn]\nkeep = 20\nrestraint = 0.5\n";
    served.restart(profile);
    const json options = served.client().get("/api/options?verb=stack").json().at("options");
    const auto aperture = std::find_if(options.begin(), options.end(), [](const json& one) {
      return one.at("name") == "--aperture";
    });
    CHECK(aperture->at("default") == 250);
    const json body = stack_body(served, "ringed_faint.ser",
                                 {{"--object", "saturn"}, {"--keep", "30"}, {"--report", "none"}});
    const json job = served.end_of_job(served.client().post("/api/jobs", body).json());
    REQUIRE(job.at("state") == "done");
    const std::string command = job.at("command");
    CHECK(contains(command, "--keep 30"));
    CHECK(contains(command, "--restraint 0.5"));
    CHECK(contains(command, "--focal-length 3750"));
  }

  TEST_CASE("what was made of stacks leads to their captures, and to its command") {
    const ServedDesk served({"highland.mkv"});
    const json job = served.end_of_job(
        served.client()
            .post("/api/jobs",
                  stack_body(served, "highland.mkv", {{"--keep", "40%"}, {"--report", "none"}}))
            .json());
    REQUIRE(job.at("state") == "done");
    const fs::path results = served.folder() / "results";
    const std::string stack = (results / "highland_stack.linear.fits").string();
    const test::Run merged =
        test::run_lull({"merge", "--red", stack, "--green", stack, "--blue", stack, "-o",
                        (results / "white.tif").string(), "--quiet"});
    CAPTURE(merged.errors);
    REQUIRE(merged.status == 0);
    const json all = served.client().get("/api/results").json().at("results");
    const auto white = std::find_if(all.begin(), all.end(),
                                    [](const json& one) { return one.at("name") == "white.tif"; });
    REQUIRE(white != all.end());
    CHECK(white->at("verb") == "merge");
    CHECK(white->at("captures") == json::array({id_of(served, "highland.mkv")}));
    const Reply details = served.client().get("/api/results/" + white->at("id").get<std::string>());
    REQUIRE(details.status == 200);
    CHECK(contains(details.json().at("command").get<std::string>(), "lull merge -o "));
    CHECK(contains(details.json().at("command").get<std::string>(), "--red "));
  }

  TEST_CASE("the profile is chosen among those that are offered") {
    const ServedDesk served;
    const test::Client& client = served.client();
    const fs::path folder = served.folder().path();
    CHECK(client.get("/api/profiles").json().at("chosen").is_null());
    std::ofstream(folder / "beside.toml")
        << "name = \"Ridge, 250 mm\"\n[optics]\naperture_mm = 250\n"
           "focal_length_mm = 3750\n[camera]\npixel_um = 3.75\n";
    std::ofstream(folder / "wrong.toml") << "[optics]\naperture = 250\n";
    const test::TemporaryFolder elsewhere;
    std::ofstream(elsewhere / "secret.toml") << "name = \"elsewhere\"\n";
    fs::create_symlink(elsewhere / "secret.toml", folder / "link.toml");
    const json offered = client.get("/api/profiles").json().at("profiles");
    const auto is_offered = [&](const char* name) {
      return std::find(offered.begin(), offered.end(), json(name)) != offered.end();
    };
    CHECK(is_offered("beside.toml"));
    CHECK_FALSE(is_offered("link.toml"));
    const auto choose = [&](const json& name) {
      return client.post("/api/profiles/chosen", {{"profile", name}});
    };
    const auto aperture = [&] {
      const json options = client.get("/api/options?verb=stack").json().at("options");
      return std::find_if(options.begin(), options.end(),
                          [](const json& one) { return one.at("name") == "--aperture"; })
          ->at("default");
    };
    const json standard = aperture();
    CHECK(choose("beside.toml").json().at("title") == "Ridge, 250 mm");
    CHECK(aperture() == 250);
    for (const json& name :
         {json("link.toml"), json("../x.toml"), json("/etc/passwd"), json("none")})
      CHECK(choose(name).status == 404);
    CHECK(choose(7).status == 400);
    CHECK(client.post("/api/profiles/chosen", json::object()).status == 400);
    const Reply wrong = choose("wrong.toml");
    CHECK(wrong.status == 422);
    CHECK(contains(wrong.what(), "wrong.toml:2"));
    CHECK(client.get("/api/profiles").json().at("chosen") == "beside.toml");
    CHECK(aperture() == 250);
    CHECK(choose(nullptr).status == 200);
    CHECK(aperture() == standard);
  }

  TEST_CASE("a stack made over the interface has the bytes of lull stack with these options") {
    const ServedDesk served({"highland.mkv", "belts_mosaic.nut"});
    for (const char* name : {"highland.mkv", "belts_mosaic.nut"}) {
      CAPTURE(name);
      const json options = {{"--keep", "40%"},
                            {"--exclude", "3,5-9"},
                            {"--restraint", 0.8},
                            {"--share", std::string(name) + ".jpg"},
                            {"--caption", "auto"}};
      json body = stack_body(served, name, options);
      body["output"] = std::string(name) + ".png";
      const Reply started = served.client().post("/api/jobs", body);
      REQUIRE(started.status == 201);
      const json job = served.end_of_job(started.json());
      REQUIRE(job.at("state") == "done");
      CHECK(job.at("share") == 1);
      REQUIRE(job.at("results").size() == 1);
      const Reply result =
          served.client().get("/api/results/" + job.at("results")[0].get<std::string>());
      REQUIRE(result.status == 200);
      // A recipe holds what decides the bytes of the picture; the shared copy is not among it.
      CHECK(contains(result.json().at("command").get<std::string>(),
                     " --exclude 3,5-9 --keep 40% --restraint 0.8"));
      // The command repeats it, to other names beside.
      const fs::path other = served.folder() / "other";
      fs::create_directory(other);
      std::vector<std::string> words = words_of(job.at("command"));
      REQUIRE(words.at(0) == "lull");
      words.erase(words.begin());
      words.emplace_back("--quiet");
      const std::string results = (served.folder() / "results").string();
      for (std::string& word : words) {
        if (word.starts_with(results)) word = (other / fs::path(word).filename()).string();
      }
      const test::Run run = test::run_lull(words);
      CAPTURE(run.errors);
      REQUIRE(run.status == 0);
      const json files = result.json().at("files");
      CHECK(files.size() == 5);
      for (const json& file : files) {
        const std::string file_name = file.at("name");
        CAPTURE(file_name);
        const std::string here = test::text_of(served.folder() / "results" / file_name);
        CHECK(here.size() == file.at("bytes").get<std::size_t>());
        CHECK(served.client()
                  .get("/api/results/" + job.at("results")[0].get<std::string>() + "/file/" +
                       file_name)
                  .body == here);
        // A recipe and a page name the folder of the shared copy.
        if (file.at("kind") != "recipe" && file.at("kind") != "report")
          CHECK(here == test::text_of(other / file_name));
      }
      fs::remove_all(other);
      CHECK(served.listed(name).at("results")[0].at("id") == job.at("results")[0]);
    }
  }

  TEST_CASE("what a stack takes is told before it is begun, and refused alike") {
    const ServedDesk served({"ringed_faint.ser"});
    json body = stack_body(served, "ringed_faint.ser", json::object());
    const auto estimate = [&] { return served.client().post("/api/estimate", body); };
    CHECK(estimate().json().at("time_s").is_null());
    const std::string survey = "/api/captures/" + id_of(served, "ringed_faint.ser") + "/survey";
    CHECK(served.end_of_job(served.client().post(survey, json::object()).json()).at("state") ==
          "done");
    const double all = estimate().json().at("time_s");
    CHECK(all > 0);
    body["options"] = {{"--keep", "10%"}, {"--finish", "none"}, {"--report", "none"}};
    CHECK(estimate().json().at("time_s") < all);
    for (const json& options : {json{{"--report", "none"}}, json::object()}) {
      body["options"] = options;
      const json told = estimate().json();
      const json job = served.end_of_job(served.client().post("/api/jobs", body).json());
      double written = 0;
      const std::string address = "/api/results/" + job.at("results")[0].get<std::string>();
      const json result = served.client().get(address).json();
      for (const json& file : result.at("files")) written += file.at("bytes").get<double>();
      CHECK(told.at("results_bytes").get<double>() == doctest::Approx(written).epsilon(0.5));
      CHECK(told.at("memory_bytes").get<double>() > 1e6);
    }
    body["options"] = {{"--scale", "2"}};
    CHECK(estimate().json().at("memory_bytes") > 1e6);
    body["options"] = {{"--keep", "0%"}};
    CHECK(estimate().status == 400);
    body["captures"] = {"0123456789abcdef"};
    CHECK(estimate().status == 404);
  }

  TEST_CASE("without a name a free one is chosen, and nothing is overwritten") {
    const ServedDesk served({"ringed_faint.ser"});
    const json body = stack_body(served, "ringed_faint.ser", {{"--report", "none"}});
    const json first = served.client().post("/api/jobs", body).json();
    const json second = served.client().post("/api/jobs", body).json();
    CHECK(first.at("output") == "ringed_faint_stack.tif");
    CHECK(second.at("output") == "ringed_faint_stack_2.tif");
    json named = body;
    named["output"] = "ringed_faint_stack.png";  // its recipe would be that of the first
    CHECK(served.client().post("/api/jobs", named).status == 409);
    CHECK(served.end_of_job(second).at("state") == "done");
    CHECK(served.client().post("/api/jobs", named).status == 409);
    const json results = served.client().get("/api/results").json().at("results");
    CHECK(results.size() == 2);
    CHECK(results[0].at("captures") == json::array({id_of(served, "ringed_faint.ser")}));
    const Reply again = served.client().ask(
        "POST", "/api/jobs/" + std::to_string(first.at("id").get<int>()) + "/again");
    CHECK(again.status == 201);
    CHECK(again.json().at("output") == "ringed_faint_stack_3.tif");
    CHECK(served.end_of_job(again.json()).at("state") == "done");
  }

  TEST_CASE("requests that make no sense, or lead out of the folders, create nothing") {
    const ServedDesk served({"ringed_faint.ser", "granules_dark.mkv"});
    std::ofstream(served.folder() / "results") << "in the way";
    fs::create_symlink("/etc", served.folder() / "etc");
    const std::string ringed = id_of(served, "ringed_faint.ser");
    const auto status = [&](const json& body) {
      return served.client().post("/api/jobs", body).status;
    };
    CHECK(status({{"verb", "dance"}}) == 400);
    CHECK(status({{"verb", "stack"}}) == 400);
    CHECK(status({{"verb", "stack"}, {"captures", json::array()}}) == 400);
    CHECK(status({{"verb", "stack"}, {"captures", ringed}}) == 400);
    CHECK(status({{"verb", "stack"}, {"captures", {7}}}) == 400);
    CHECK(status({{"verb", "stack"}, {"captures", {"0123456789abcdef"}}}) == 404);
    const auto with = [&](const json& options) {
      return status({{"verb", "stack"}, {"captures", {ringed}}, {"options", options}});
    };
    for (const json& options : std::vector<json>{{{"--keep", "0%"}},
                                                 {{"--output", "/tmp/x.tif"}},
                                                 {{"capture", "/etc/passwd"}},
                                                 {{"--dark", "/etc/passwd"}},
                                                 {{"--dark", "../../etc/passwd"}},
                                                 {{"--dark", "etc/passwd"}},
                                                 {{"--dark", "nowhere.fits"}},
                                                 {{"--dark", 7}},
                                                 {{"--share", "/tmp/x.jpg"}},
                                                 {{"--share", "../x.jpg"}},
                                                 {{"--share", ".x.jpg"}},
                                                 {{"--report", "/tmp/x.html"}},
                                                 {{"--scale-bar", "perhaps"}},
                                                 {{"--threads", "3"}},
                                                 {{"--overwrite", true}},
                                                 7}) {
      CAPTURE(options.dump());
      CHECK(with(options) == 400);
    }
    for (const char* output : {"/tmp/x.tif", "../x.tif", "a/b.tif", ".x.tif", "x.gif", "x\n.tif"}) {
      CAPTURE(output);
      CHECK(status({{"verb", "stack"}, {"captures", {ringed}}, {"output", output}}) == 400);
    }
    CHECK(status({{"verb", "stack"}, {"captures", {ringed}}, {"output", 7}}) == 400);
    CHECK(with(json::object()) == 507);  // a file stands where the folder should be
    CHECK(served.client().get("/api/jobs").json().at("jobs").empty());
    fs::remove(served.folder() / "results");
    const Reply dark = served.client().post(
        "/api/jobs", {{"verb", "stack"},
                      {"captures", {ringed}},
                      {"options", {{"--dark", id_of(served, "granules_dark.mkv")}}}});
    CHECK(dark.status == 201);
    CHECK(
        contains(dark.json().at("command").get<std::string>(), "--dark " + served.folder().path()));
    // Of another size: refused by the run, in its words.
    const json job = served.end_of_job(dark.json());
    CHECK(job.at("state") == "failed");
    CHECK_FALSE(job.at("error").at("what").get<std::string>().empty());
  }

  TEST_CASE("files of results are those alone, and a report reaches nothing of the desk") {
    const ServedDesk served({"ringed_faint.ser"});
    const Reply started = served.client().post("/api/jobs", stack_body(served, "ringed_faint.ser"));
    const json job = served.end_of_job(started.json());
    REQUIRE(job.at("state") == "done");
    std::ofstream(served.folder() / "results/secret.txt") << "secret";
    fs::create_symlink("/etc/passwd", served.folder() / "results/ringed_faint_stack.png");
    const std::string address =
        "/api/results/" + job.at("results")[0].get<std::string>() + "/file/";
    for (const char* name : {"secret.txt", "..%2f..%2fringed_faint.ser", "ringed_faint_stack.png",
                             "%2fetc%2fpasswd", "nothing.tif", ".", ".."}) {
      CAPTURE(name);
      CHECK(served.client().get(address + name).status == 404);
    }
    CHECK(served.client().get("/api/results/0123456789abcdef").status == 404);
    const Reply page = served.client().get(address + "ringed_faint_stack.html");
    CHECK(page.status == 200);
    CHECK(page.headers.at("content-security-policy").starts_with("sandbox allow-scripts; "));
    CHECK_FALSE(contains(page.headers.at("content-security-policy"), "allow-same-origin"));
    CHECK(served.client().get(address + "ringed_faint_stack.tif").headers.at("content-type") ==
          "image/tiff");
  }

  TEST_CASE("a job shows the stack as it grows, only while it runs") {
    const ServedDesk served({"highland.mkv"});
    const Reply started = served.client().post("/api/jobs", stack_body(served, "highland.mkv"));
    const std::string address = "/api/jobs/" + std::to_string(started.json().at("id").get<int>());
    const Reply picture = served.ask_until(address + "/preview", [&](const Reply& reply) {
      return reply.status == 200 || served.client().get(address).json().at("state") == "done";
    });
    const json job = served.end_of_job(started.json());
    CHECK(job.at("state") == "done");
    CHECK(served.client().get(address + "/preview").status == 409);
    if (picture.status == 200) {  // a fast machine may be done before anybody looks
      CHECK(std::stoi(picture.headers.at("x-frames")) > 0);
      CHECK(picture.body.size() == 2U * std::stoul(picture.headers.at("x-width")) *
                                       std::stoul(picture.headers.at("x-height")) *
                                       std::stoul(picture.headers.at("x-channels")));
    }
  }

  TEST_CASE("a growing stack is made into a picture when one is asked for, and then not at once") {
    desk::GrowingStack growing;
    CHECK_FALSE(growing.wants_picture());
    CHECK(growing.look() == nullptr);
    CHECK(growing.wants_picture());
    std::vector<Plane> channels;
    channels.emplace_back(4, 3);
    growing.see(std::move(channels), 7);
    CHECK_FALSE(growing.wants_picture());
    const auto seen = growing.look();
    REQUIRE(seen);
    CHECK(seen->frames == 7);
    CHECK(seen->picture.size() == Size{4, 3});
    CHECK(growing.frames() == 7);
    CHECK_FALSE(growing.wants_picture());  // the last is not two seconds old
    std::this_thread::sleep_for(2100ms);
    CHECK(growing.wants_picture());
    growing.clear();
    CHECK(growing.look() == nullptr);
    CHECK(growing.frames() == 0);
    desk::GrowingStack watched([] { return true; });
    CHECK(watched.wants_picture());
  }

  TEST_CASE("options are told as forms need them") {
    const ServedDesk served;
    const json options = served.client().get("/api/options?verb=stack").json().at("options");
    const auto named = [&](const std::string& name) {
      for (const json& option : options) {
        if (option.at("name") == name) return option;
      }
      return json();
    };
    CHECK(named("--restraint").at("kind") == "number");
    CHECK(named("--restraint").at("low") == 0);
    CHECK(named("--restraint").at("high") == 1);
    CHECK(named("--restraint").at("default") == 1);
    CHECK(named("--metric").at("kind") == "choice");
    CHECK(contains(named("--metric").at("choices").dump(), "laplacian"));
    CHECK(named("--scale-bar").at("kind") == "switch");
    CHECK(named("--dark").at("kind") == "file");
    CHECK(named("--keep").at("choices") == json::array({"auto"}));
    CHECK(named("capture").at("presence") == "any_number");
    CHECK(named("--keep").at("heading") == "Frames and ranking");
    CHECK(served.client().get("/api/options?verb=finish").status == 200);
    CHECK(served.client().get("/api/options?verb=dance").status == 400);
  }

  TEST_CASE(
      "jobs of a desk that was killed are listed by the next one, and can be asked for again") {
    const test::TemporaryFolder folder;
    const fs::path record = folder / ".lull-jobs-1-0.json";  // process 1 began at another time
    const json left = {{{"verb", "stack"},
                        {"captures", {"0123456789abcdef"}},
                        {"names", {"moon.ser"}},
                        {"output", "moon.tif"},
                        {"command", "lull stack moon.ser"},
                        {"request", {{"verb", "stack"}}},
                        {"created_s", 7}},
                       {{"verb", 3}},
                       "damage"};
    std::ofstream(record) << left.dump();
    std::ofstream(folder / ".lull-jobs-2-0.json") << "{";
    desk::JobRecord next(folder.path());
    const auto jobs = next.take_over();
    REQUIRE(jobs.size() == 1);
    CHECK(jobs[0].state == desk::JobState::interrupted);
    CHECK(jobs[0].facts.output == "moon.tif");
    CHECK(jobs[0].facts.request == json{{"verb", "stack"}});
    CHECK(jobs[0].created_s == 7);
    CHECK(folder.names().empty());
    // Its own record is that of a living process, and nobody takes it over.
    next.write(jobs);
    CHECK(folder.names().size() == 1);
    CHECK(desk::JobRecord(folder.path()).take_over().empty());
    next.close();
    next.write({});
    CHECK(folder.names().size() == 1);
  }

  TEST_CASE("a record without jobs, or without a folder, is no file") {
    const test::TemporaryFolder folder;
    desk::Job job;
    job.facts.verb = "stack";
    desk::JobRecord record(folder.path());
    record.write({job});
    CHECK(folder.names().size() == 1);
    job.state = desk::JobState::done;
    record.write({job});
    CHECK(folder.names().empty());
    desk::JobRecord nowhere(folder.file("nowhere"));
    nowhere.write({desk::Job{}});
    CHECK(folder.names().empty());
    CHECK(nowhere.take_over().empty());
  }

  TEST_CASE("an interrupted job is listed after the desk began anew, and runs again") {
    ServedDesk served({"ringed_faint.ser"});
    const json body = stack_body(served, "ringed_faint.ser");
    fs::create_directory(served.folder() / "results");
    const json left = {{{"verb", "stack"},
                        {"captures", body.at("captures")},
                        {"names", {"ringed_faint.ser"}},
                        {"output", "r.tif"},
                        {"command", ""},
                        {"request", body},
                        {"created_s", 7}}};
    std::ofstream(served.folder() / "results/.lull-jobs-1-0.json") << left.dump();
    served.restart();
    const json jobs = served.client().get("/api/jobs").json().at("jobs");
    REQUIRE(jobs.size() == 1);
    CHECK(jobs[0].at("state") == "interrupted");
    CHECK(jobs[0].at("created_utc") == "1970-01-01T00:00:07Z");
    const Reply again = served.client().ask(
        "POST", "/api/jobs/" + std::to_string(jobs[0].at("id").get<int>()) + "/again");
    REQUIRE(again.status == 201);
    CHECK(served.end_of_job(again.json()).at("state") == "done");
    CHECK(served.client().get("/api/jobs").json().at("jobs").size() == 1);
  }

  TEST_CASE("names of results are plain") {
    for (const char* name : {"moon.tif", "a b.png", "Mond-1.fits", "m\xc3\xa9.tif"})
      CHECK_NOTHROW(desk::check_result_name(name));
    for (const std::string& name : {std::string(), std::string("a/b"), std::string(".x"),
                                    std::string("a\nb"), std::string(201, 'x'), std::string("..")})
      CHECK_THROWS_AS(desk::check_result_name(name), desk::Problem);
  }
}

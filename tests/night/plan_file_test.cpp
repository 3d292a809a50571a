// Covers: night/night_job, night/night_request
#include "night/plan_file.h"

#include <doctest/doctest.h>

#include <fstream>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "night/night_job.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::night;

TEST_SUITE("night/plan_file") {
  namespace {

  Plan sample_plan() {
    Plan plan;
    plan.folder = "in";
    plan.masters = {{.name = "dark_5ms", .kind = Kind::dark, .captures = {"in/d.ser"}},
                    {.name = "flat_R",
                     .kind = Kind::flat,
                     .captures = {"in/f\"1\".ser", "in/f2.ser"},
                     .flat_dark = "dark_5ms"}};
    plan.pictures = {{.name = "a/moon\xE6\x9C\x88",
                      .captures = {"in/a/moon\xFF.ser"},
                      .copy_of = "in/a/other\xFF.ser",
                      .dark = "dark_5ms",
                      .flat = "flat_R",
                      .object = "moon",
                      .filter = "R",
                      .why = {"two\nlines"}}};
    plan.left_out = {{"in/b\n[[picture]].ser", "cut short", true}};
    return plan;
  }

  // Captures through three filters, and what they give together.
  Plan plan_in_colour() {
    Plan plan;
    plan.folder = "in";
    for (const char* filter : {"R", "G", "B"}) {
      plan.pictures.push_back({.name = std::string("mars_") + filter,
                               .captures = {std::string("in/") + filter + ".ser"},
                               .object = "moon",
                               .filter = filter});
    }
    plan.merges = {{.name = "mars_RGB",
                    .red = "mars_R",
                    .green = "mars_G",
                    .blue = "mars_B",
                    .object = "moon",
                    .why = {"a\nb"}}};
    return plan;
  }

  Plan read(const std::string& text) {
    const test::TemporaryFolder folder;
    std::ofstream(folder.file("n.toml")) << text;
    return read_plan(folder.file("n.toml"));
  }

  }  // namespace

  TEST_CASE("a plan is read back as it was written, whatever the names") {
    const Plan plan = sample_plan();
    const Plan back = read(plan_text(plan));
    CHECK(back.folder == "in");
    REQUIRE(back.pictures.size() == 1);
    CHECK(back.pictures[0].name == plan.pictures[0].name);
    CHECK(back.pictures[0].captures == plan.pictures[0].captures);
    CHECK(back.pictures[0].copy_of == plan.pictures[0].copy_of);
    CHECK(back.pictures[0].dark == "dark_5ms");
    CHECK(back.pictures[0].object == "moon");
    REQUIRE(back.masters.size() == 2);
    CHECK(back.masters[1].captures == plan.masters[1].captures);
    CHECK(back.masters[1].flat_dark == "dark_5ms");
    CHECK(to_json(plan).at("left_out").size() == 1);
  }

  TEST_CASE("what was edited wrongly is refused with its line") {
    const std::string picture = "[[picture]]\nname = \"a\"\ncaptures = [\"a.ser\"]\n";
    CHECK_NOTHROW(static_cast<void>(read(picture)));
    const std::vector<std::pair<std::string, std::string>> wrong = {
        {picture + "drak = \"x\"\n", ":4: [[picture]]: unknown key 'drak'. Did you mean dark?"},
        {picture + "dark = \"x\"\n", ":4: [[picture]]: dark: there is no [[master]] 'x' above"},
        {picture + picture, "two pictures have the name a"},
        {"[[picture]]\nname = \"../a\"\ncaptures = \"a\"\n", "no name of a picture"},
        {"[[picture]]\nname = \"/a\"\ncaptures = \"a\"\n", "no name of a picture"},
        {"[[picture]]\nname = \"a\"\n", "'captures' is missing"},
        {picture + "object = \"mooon\"\n", "--object"},
        {picture + "[picture.options]\nkeep = \"0%\"\n", ":5: [[picture]]: --keep"},
        {picture + "[picture.options]\noutput = \"x\"\n", "unknown option 'output'"},
        {picture + "[[merge]]\nname = \"c\"\nred = \"a\"\ngreen = \"b\"\nblue = \"a\"\n",
         ":7: [[merge]]: green: there is no [[picture]] 'b'"},
        {picture + "[[merge]]\nname = \"c\"\nred = \"a\"\ngreen = \"a\"\n", "'blue' is missing"},
        {picture + "[[merge]]\nname = \"a\"\nred = \"a\"\ngreen = \"a\"\nblue = \"a\"\n",
         "two pictures have the name a"},
        {picture + "[[merge]]\nname = \"c\"\nred = \"a\"\ngreen = \"a\"\nblue = \"a\"\n" +
             "[merge.options]\nred = \"x\"\n",
         "unknown option 'red'"},
        {"[[master]]\nname = \"m\"\nkind = \"bias\"\ncaptures = \"a\"\n", "dark or flat"}};
    for (const auto& one : wrong) {
      CAPTURE(one.first);
      CHECK_THROWS_WITH_AS(static_cast<void>(read(one.first)),
                           doctest::Contains(one.second.c_str()), InputError);
    }
  }

  TEST_CASE("the command line wins over the plan, and the plan over the profile") {
    Plan plan = sample_plan();
    plan.pictures[0].options = {{"--keep", {"20%"}, 0}, {"--patch", {"40"}, 0}};
    const profile::Profile profile = profile::parse_profile(
        "[filters.R]\nwavelength_nm = 630\n[optics]\naperture_mm = 250\nfocal_length_mm = 2500\n"
        "[camera]\npixel_um = 3\n[options.moon]\nkeep = \"10%\"\nrestraint = 0.5\n",
        "a.toml");
    const auto jobs = jobs_of(plan, profile, {{"--patch", {"64"}, 0}}, NightFolder("out"));
    REQUIRE(jobs.size() == 1);
    const nlohmann::json options =
        nlohmann::json::parse(jobs_text(jobs, NightFolder("out"))).at("options");
    CHECK(options.at("keep") == "20%");
    CHECK(options.at("patch") == "64");
    CHECK(options.at("restraint") == 0.5);
    CHECK(options.at("wavelength") == 630);
    CHECK(options.at("object") == "moon");
    CHECK(options.at("dark") == "out/night/masters/dark_5ms.fits");
    CHECK(jobs[0].masters.size() == 2);
    CHECK(jobs[0].masters[0].name == "dark_5ms");
  }

  TEST_CASE("a job in a file is the job that was written") {
    const test::TemporaryFolder folder;
    const auto jobs = jobs_of(sample_plan(), profile::Profile{}, {}, NightFolder("out"));
    std::ofstream(folder.file("j.jsonl")) << jobs_text(jobs, NightFolder("out"));
    const LineOfJobs line = job_in_file(folder.file("j.jsonl"), 1);
    CHECK(line.results == "out");
    CHECK(line.job.name == jobs[0].name);
    CHECK(line.job.output() == jobs[0].output());
    CHECK(line.job.copy_of == jobs[0].copy_of);
    CHECK(jobs_text({line.job}, NightFolder("out")) == jobs_text(jobs, NightFolder("out")));
    CHECK_THROWS_WITH_AS(static_cast<void>(job_in_file(folder.file("j.jsonl"), 2)),
                         doctest::Contains("there is no job 2; the file has 1"), InputError);
    for (const char* text : {"[]", "{}", "{\"lull_job\": 2}", "not", "{\"lull_job\": 3}"}) {
      CAPTURE(text);
      std::ofstream(folder.file("x.jsonl")) << text << "\n";
      CHECK_THROWS_AS(static_cast<void>(job_in_file(folder.file("x.jsonl"), 1)), InputError);
    }
  }

  TEST_CASE("a picture in colour is read back, and its job holds those of its parts") {
    const Plan back = read(plan_text(plan_in_colour()));
    REQUIRE(back.merges.size() == 1);
    CHECK(back.merges[0].name == "mars_RGB");
    CHECK(back.merges[0].parts() == std::vector<std::string>{"mars_R", "mars_G", "mars_B"});
    const NightFolder place("out");
    const auto jobs =
        jobs_of(back, {}, {{"--restraint", {"0.5"}, 0}, {"--keep", {"20%"}, 0}}, place);
    REQUIRE(jobs.size() == 4);
    const NightJob& last = jobs.back();
    REQUIRE(last.is_merge());
    CHECK(last.merge().green == "out/mars_G.linear.fits");
    CHECK(last.merge().look.restraint == 0.5);
    // Nothing is published of the colour of this object.
    CHECK(last.merge().look.white_balance == run::WhiteBalanceChoice(run::WhiteBalanceRule::grey));
    CHECK(last.captures() == std::vector<std::string>{"in/R.ser", "in/G.ser", "in/B.ser"});
    CHECK(last.parts[2].output() == "out/mars_B.tif");
    // Options for colours are not for the parts, which have one.
    const auto balanced = jobs_of(back, {}, {{"--white-balance", {"1.2,1,1.5"}, 0}}, place);
    CHECK(run::print_white_balance(balanced.back().merge().look.white_balance) == "1.2,1,1.5");
    CHECK(balanced[0].stack().look.white_balance ==
          run::WhiteBalanceChoice(run::WhiteBalanceRule::automatic));
    // Without a finish the pictures are the linear stacks.
    const auto plain = jobs_of(back, {}, {{"--finish", {"none"}, 0}}, place);
    CHECK(plain.back().merge().green == "out/mars_G.fits");
    CHECK(plain.back().merge().look.leaves_detail());
    const test::TemporaryFolder folder;
    for (const auto& of : {jobs, plain}) {
      std::ofstream(folder.file("j.jsonl")) << jobs_text(of, place);
      const NightJob again = job_in_file(folder.file("j.jsonl"), 4).job;
      CHECK(jobs_text({again}, place) == jobs_text({of.back()}, place));
      CHECK(again.parts[0].output() == of.back().parts[0].output());
    }
  }

  TEST_CASE("requests that contradict themselves are refused") {
    const auto refused = [](NightRequest request) {
      CHECK_THROWS_AS(check_request(request), UsageError);
    };
    refused({});
    refused({.place = "in"});
    refused({.place = "in", .results = "out", .jobs_file = "j"});
    refused({.results = "out", .job = 1});
    refused({.action = Action::gather});
    refused({.place = "in", .action = Action::plan, .watch = Watch::yes});
    CHECK_NOTHROW(check_request({.place = "in", .action = Action::plan}));
    CHECK_NOTHROW(check_request({.jobs_file = "j", .job = 1}));
  }

  TEST_CASE("options of pictures are held to the ranges of stack") {
    NightRequest request;
    const auto& keep = run::option_named(night_options(), "--keep");
    keep.set(request, "15%");
    keep.set(request, "20%");
    CHECK(request.options.size() == 1);
    CHECK(keep.get(request) == "20%");
    CHECK_THROWS_AS(keep.set(request, "0%"), UsageError);
    for (const auto& option : night_options()) CHECK(option.facts.name != "--dark");
  }
}

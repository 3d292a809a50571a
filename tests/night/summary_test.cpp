// Covers: night/night_page, night/course, night/courses, night/page_parts
// Covers: night/page_assets, night/write_summary
#include "night/summary.h"

#include <doctest/doctest.h>

#include <nlohmann/json.hpp>

#include "night/course.h"
#include "night/night_page.h"
#include "support/text.h"

using namespace lull;
using namespace lull::night;
using lull::test::contains;

TEST_SUITE("night/summary") {
  namespace {

  Record record(const std::string& name, const std::string& when, double resolution_px) {
    Record out;
    out.name = name;
    out.done = true;
    out.when = when;
    out.object = "mars";
    out.picture = "data:image/jpeg;base64,AAAA";
    out.width_px = 64;
    out.height_px = 48;
    out.figures = {{"frames", 100}, {"kept", 40}, {"resolution_px", resolution_px}};
    out.findings = {{"dark", "the frames are dark", "expose longer"}};
    return out;
  }

  Summary sample() {
    Record failed;
    failed.name = "<script>alert(1)</script>";
    failed.problem = "cut \"short\", after 3 bytes";
    failed.remedy = "copy it again";
    failed.status = 3;
    return summary_of(
        {record("b", "2026-03-01T23:30:00Z", 3), failed, record("a", "2026-03-02T00:30:00Z", 4)},
        {{"in/dup.ser", "the same bytes as in/a.ser", false}},
        {{"repeats", {"b", "a"}, "mars: the same target again"}});
  }

  }  // namespace

  TEST_CASE("the table has one record a picture, in the order of time") {
    const std::string csv = night_csv(sample());
    CHECK(csv.starts_with("name,state,when,object,filter,width_px,height_px,frames,"));
    CHECK(csv.find("\nb,done,2026-03-01") < csv.find("\na,done,2026-03-02"));
    // RFC 4180, section 2: fields with commas and quotes are quoted, quotes doubled.
    CHECK(contains(csv, "\"cut \"\"short\"\", after 3 bytes\",copy it again\r\n"));
  }

  TEST_CASE("what was skipped is left out, and what was merged leads to its parts") {
    Record skipped;
    skipped.name = "a_RGB";
    skipped.skipped = true;
    skipped.problem = "not merged, since a_B failed";
    Record merged = record("b_RGB", "2026-03-01T23:30:00Z", 3);
    merged.parts = {"b"};
    const Summary summary =
        summary_of({record("b", "2026-03-01T23:30:00Z", 3), skipped, merged}, {}, {});
    CHECK(summary.records.size() == 2);
    const std::string page = night_page(summary, NightFolder("out"));
    CHECK(contains(page, "<li>a_RGB: not merged, since a_B failed</li>"));
    CHECK(contains(page, "<dt>Merged of</dt><dd><a href=\"#p0\"><bdi>b</bdi></a></dd>"));
    CHECK_FALSE(contains(page, "failed</span>"));
    CHECK(night_json(summary).at("left_out").size() == 1);
  }

  TEST_CASE("advice is collected, each once") {
    const nlohmann::json json = night_json(sample());
    REQUIRE(json.at("next_time").size() == 1);
    CHECK(json.at("next_time")[0].at("pictures") == nlohmann::json({"b", "a"}));
    CHECK(json.at("pictures").size() == 3);
    CHECK_FALSE(json.at("pictures")[0].contains("key"));
  }

  TEST_CASE("names never become markup, and nothing comes from elsewhere") {
    const std::string page = night_page(sample(), NightFolder("out"));
    CHECK_FALSE(contains(page, "<script>alert"));
    CHECK(contains(page, "&lt;script&gt;alert"));
    CHECK(contains(page, "default-src 'none'"));
    for (const char* outside : {"http://", "https://", "src=\"/"})
      CHECK_FALSE(contains(page, outside));
    CHECK(contains(page, "href=\"a.html\""));
    CHECK(contains(page, "href=\"night/logs/%3Cscript%3Ealert%281%29%3C/script%3E.log\""));
    CHECK(contains(page, "<h1>Night of 2026-03-01 to 2026-03-02</h1>"));
    CHECK(contains(page, "What belongs together"));
    CHECK(page == night_page(sample(), NightFolder("out")));
  }

  TEST_CASE("a page of 100 pictures stays under 10 MB") {
    std::vector<Record> records;
    for (int i = 0; i < 100; ++i) {
      records.push_back(record("p" + std::to_string(i), "2026-03-01T23:30:00Z", 3));
      // Noise of 360 x 360 px, three colours, at this quality: the most that a picture takes.
      records.back().picture += std::string(80'000, 'A');
    }
    CHECK(night_page(summary_of(std::move(records), {}, {}), NightFolder("out")).size() <
          10'000'000);
  }

  TEST_CASE("a course over midnight goes on, and needs two points") {
    const Course course = {
        "Air", "", "lower is better", {{23.5, 5, "b", "p0"}, {24.5, 4, "a", "p1"}}};
    const std::string svg = course_svg(course);
    CHECK(contains(svg, "aria-label=\"b: 5, 23:30 UTC\""));
    CHECK(contains(svg, "aria-label=\"a: 4, 00:30 UTC\""));
    CHECK(contains(svg, ">00:00</text>"));
    CHECK(course_svg({"Air", "", "", {{1, 1, "a", "p0"}}}).empty());
    CHECK_FALSE(
        contains(course_svg({"Air", "", "", {{1, 1, "a", "p0"}, {1, 1, "b", "p1"}}}), "nan"));
  }
}

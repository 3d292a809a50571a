// Covers: night/make_plan, night/matching, night/sets
#include "night/plan.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <random>

#include "night/name_facts.h"

using namespace lull;
using namespace lull::night;

TEST_SUITE("night/plan") {
  namespace {

  Facts capture_named(const std::string& name, Size size = {64, 48}) {
    static const NameReader reader{profile::Profile{}};
    const std::filesystem::path path(name);
    Facts facts;
    facts.name = name;
    facts.found.path = "in/" + name;
    facts.found.bytes = 1000;
    facts.said = reader.read(path.parent_path().string(), path.filename().string());
    facts.kind = facts.said.kind.value_or(Kind::light);
    facts.kind_from = facts.said.kind ? "name" : "";
    facts.size = size;
    facts.colour = "mono";
    return facts;
  }

  const Picture& picture(const Plan& plan, const std::string& name) {
    const auto found = std::find_if(plan.pictures.begin(), plan.pictures.end(),
                                    [&](const Picture& one) { return one.name == name; });
    REQUIRE(found != plan.pictures.end());
    return *found;
  }

  bool has_reason(const Picture& one, const std::string& what) {
    return std::any_of(one.why.begin(), one.why.end(),
                       [&](const std::string& why) { return why.find(what) != std::string::npos; });
  }

  }  // namespace

  TEST_CASE("darks go by size, exposure and gain, flats by size and filter") {
    const Plan plan = make_plan(
        {capture_named("mars_R_10ms_gain300.ser"), capture_named("mars_B_20ms_gain300.ser"),
         capture_named("darks/10ms_gain300.ser"), capture_named("darks/10ms_gain300_b.ser"),
         capture_named("darks/20ms_gain200.ser"), capture_named("flat_R_5ms.ser"),
         capture_named("darks/5ms.ser"), capture_named("flat_G.ser")},
        {}, Join::none);
    REQUIRE(plan.pictures.size() == 2);
    const Picture& red = picture(plan, "mars_R_10ms_gain300");
    CHECK(red.dark == "dark_10ms_gain300");
    CHECK(red.flat == "flat_R_5ms");
    CHECK(red.object == "mars");
    CHECK(red.filter == "R");
    CHECK(plan.master("dark_10ms_gain300")->captures.size() == 2);
    CHECK(plan.master("flat_R_5ms")->flat_dark == "dark_5ms");
    const Picture& blue = picture(plan, "mars_B_20ms_gain300");
    CHECK(blue.dark.empty());
    CHECK(has_reason(blue, "of another exposure or gain: dark_10ms_gain300"));
    CHECK(blue.flat.empty());
    CHECK(has_reason(blue, "no flat: of another filter"));
    CHECK(plan.left_out.size() == 2);  // the dark of 20 ms and the green flat
    CHECK(plan.master("flat_G") == nullptr);
  }

  TEST_CASE("where exposures are not known, one dark of the size is taken and of several none") {
    const Plan one =
        make_plan({capture_named("moon.ser"), capture_named("dark.ser")}, {}, Join::none);
    CHECK(one.pictures[0].dark == "dark");
    const Plan two = make_plan(
        {capture_named("moon.ser"), capture_named("dark_1ms.ser"), capture_named("dark_2ms.ser")},
        {}, Join::none);
    CHECK(two.pictures[0].dark.empty());
    CHECK(has_reason(two.pictures[0], "2 darks are of this size"));
    const Plan other =
        make_plan({capture_named("moon.ser"), capture_named("dark.ser", {32, 48})}, {}, Join::none);
    CHECK(has_reason(other.pictures[0], "no dark: none is of this size"));
  }

  TEST_CASE("darks and flats that name a target are for that alone") {
    const Plan plan = make_plan({capture_named("sun.ser"), capture_named("moon.ser"),
                                 capture_named("sun_flat.ser"), capture_named("sun_dark.ser")},
                                {}, Join::none);
    CHECK(picture(plan, "sun").flat == "flat_sun");
    CHECK(picture(plan, "sun").dark == "dark_sun");
    CHECK(picture(plan, "moon").flat.empty());
    CHECK(picture(plan, "moon").dark.empty());
  }

  TEST_CASE("colours, repeats and panels are named as sets") {
    std::vector<Facts> captures;
    int second = 0;
    for (const char* name : {"mars_R_1.ser", "mars_G_1.ser", "mars_B_1.ser", "mars_R_2.ser",
                             "moon_panel1.ser", "moon_panel2.ser"}) {
      captures.push_back(capture_named(name));
      captures.back().when_s = ++second;
    }
    const Plan plan = make_plan(captures, {}, Join::none);
    REQUIRE(plan.sets.size() == 3);
    CHECK(plan.sets[0].kind == "colours");
    CHECK(plan.sets[0].pictures == std::vector<std::string>{"mars_R_1", "mars_G_1", "mars_B_1"});
    CHECK(plan.sets[1].kind == "repeats");
    CHECK(plan.sets[1].pictures == std::vector<std::string>{"mars_R_1", "mars_R_2"});
    CHECK(plan.sets[2].kind == "panels");
    const Plan joined = make_plan(captures, {}, Join::repeats);
    CHECK(joined.pictures.size() == 5);
    CHECK(picture(joined, "mars_R_1").captures ==
          std::vector<std::string>{"in/mars_R_1.ser", "in/mars_R_2.ser"});
  }

  TEST_CASE("captures through R, G and B, and L, are merged under the name of all") {
    const auto merged = [](const std::vector<std::pair<const char*, int>>& names, Join join) {
      std::vector<Facts> captures;
      for (const auto& [name, minute] : names) {
        captures.push_back(capture_named(name));
        captures.back().when_s = 60 * minute;
      }
      return make_plan(captures, {}, join).merges;
    };
    const auto one = merged({{"a/mars_L_1.ser", 0},
                             {"a/mars_red_1.ser", 2},
                             {"a/mars_green_1.ser", 4},
                             {"a/mars_blue_1.ser", 6},
                             {"a/mars_LRGB_1.ser", 8}},
                            Join::none);
    REQUIRE(one.size() == 1);
    CHECK(one[0].name == "a/mars_LRGB_1_2");
    CHECK(one[0].parts() == std::vector<std::string>{"a/mars_red_1", "a/mars_green_1",
                                                     "a/mars_blue_1", "a/mars_L_1"});
    CHECK(one[0].object == "mars");
    CHECK(merged({{"R/mars.ser", 0}, {"G/mars.ser", 2}, {"B/mars.ser", 4}}, Join::none)[0].name ==
          "RGB/mars");
    // Panels are apart, and what lies more than an hour apart.
    CHECK(merged({{"moon_panel1_R.ser", 0}, {"moon_panel1_G.ser", 1}, {"moon_panel2_B.ser", 2}},
                 Join::none)
              .empty());
    CHECK(merged({{"mars_R.ser", 0}, {"mars_G.ser", 2}, {"mars_B.ser", 62}}, Join::none).empty());
    CHECK(merged({{"mars_R.ser", 0}, {"mars_G.ser", 2}, {"mars_B.ser", 58}}, Join::none).size() ==
          1);
    // Luminance, and a colour that was taken again, may lie between: the nearest ones count.
    const auto between = merged({{"mars_L_1.ser", 0},
                                 {"mars_R_1.ser", 2},
                                 {"mars_G_1.ser", 4},
                                 {"mars_L_2.ser", 6},
                                 {"mars_G_2.ser", 8},
                                 {"mars_B_1.ser", 10}},
                                Join::none);
    REQUIRE(between.size() == 1);
    CHECK(between[0].parts() ==
          std::vector<std::string>{"mars_R_1", "mars_G_2", "mars_B_1", "mars_L_2"});
    // What follows a complete set begins the next; what lies too far back is in none.
    const auto two = merged({{"mars_R_0.ser", 0},
                             {"mars_L_1.ser", 61},
                             {"mars_R_1.ser", 62},
                             {"mars_L_2.ser", 63},
                             {"mars_G_1.ser", 64},
                             {"mars_B_1.ser", 65},
                             {"mars_L_3.ser", 66},
                             {"mars_B_2.ser", 67},
                             {"mars_G_2.ser", 68},
                             {"mars_R_2.ser", 69}},
                            Join::none);
    REQUIRE(two.size() == 2);
    CHECK(two[0].luminance == "mars_L_2");
    CHECK(two[0].red == "mars_R_1");
    CHECK(two[1].parts() ==
          std::vector<std::string>{"mars_R_2", "mars_G_2", "mars_B_2", "mars_L_3"});
    // Repeated captures in a row make no colours, but joined they do.
    const std::vector<std::pair<const char*, int>> rows = {
        {"mars_R_a.ser", 0}, {"mars_R_b.ser", 2}, {"mars_G_a.ser", 4},
        {"mars_G_b.ser", 6}, {"mars_B_a.ser", 8}, {"mars_B_b.ser", 10}};
    CHECK(merged(rows, Join::none).empty());
    const auto joined = merged(rows, Join::repeats);
    REQUIRE(joined.size() == 1);
    CHECK(joined[0].name == "mars_RGB_a");
    CHECK(make_plan({capture_named("mars_R.ser"), capture_named("mars_G.ser"),
                     capture_named("mars_B.ser")},
                    {}, Join::none, Merging::none)
              .merges.empty());
  }

  TEST_CASE("names of results are free of each other and of those of the night") {
    const Plan plan = make_plan({capture_named("a/moon.ser"), capture_named("a/moon.avi"),
                                 capture_named("night.ser"), capture_named("s_%04d.png")},
                                {}, Join::none);
    std::vector<std::string> names;
    for (const Picture& one : plan.pictures) names.push_back(one.name);
    CHECK(names == std::vector<std::string>{"a/moon", "a/moon_2", "night_capture", "s"});
  }

  TEST_CASE("what may be a copy is a picture of its own, in no set, and comes last") {
    std::vector<Facts> captures = {capture_named("mars_R_1.ser"), capture_named("mars_R_2.ser"),
                                   capture_named("dark_1.ser"), capture_named("dark_2.ser")};
    captures[1].copy_of = "in/mars_R_1.ser";
    captures[3].copy_of = "in/dark_1.ser";
    const Plan plan = make_plan(captures, {}, Join::repeats);
    REQUIRE(plan.pictures.size() == 2);
    CHECK(plan.pictures[1].name == "mars_R_2");
    CHECK(plan.pictures[1].copy_of == "in/mars_R_1.ser");
    CHECK(plan.pictures[1].cost_bytes < plan.pictures[0].cost_bytes);
    CHECK(plan.pictures[1].dark == plan.pictures[0].dark);
    CHECK(plan.sets.empty());
    // Darks are sorted out when they are combined.
    CHECK(plan.masters[0].captures.size() == 2);
  }

  TEST_CASE("what cannot be read is left out as a problem, and counts for nothing else") {
    Facts broken = capture_named("dark_1ms.ser");
    broken.problem = "cut short";
    const Plan plan = make_plan({capture_named("moon_1ms.ser"), broken}, {}, Join::none);
    CHECK(plan.pictures[0].dark.empty());
    REQUIRE(plan.left_out.size() == 1);
    CHECK(plan.left_out[0].is_problem);
  }

  TEST_CASE("the plan does not depend on the order of the files") {
    std::vector<Facts> captures;
    for (const char* name : {"mars_R.ser", "mars_G.ser", "mars_B.ser", "dark_a.ser", "dark_b.ser",
                             "flat_R.ser", "x/moon.ser", "moon.ser"})
      captures.push_back(capture_named(name));
    const auto shown = [&] {
      const Plan plan = make_plan(captures, {}, Join::none);
      std::string text;
      for (const Picture& one : plan.pictures) text += one.name + one.dark + one.flat + "\n";
      for (const Master& one : plan.masters) text += one.name + one.captures.front() + "\n";
      return text;
    };
    const std::string first = shown();
    const unsigned seed = 20260301;
    CAPTURE(seed);
    std::mt19937 random(seed);
    for (int i = 0; i < 20; ++i) {
      std::shuffle(captures.begin(), captures.end(), random);
      CHECK(shown() == first);
    }
  }
}

// Covers: run/option, run/option_kinds, run/capture_input, run/instrument, run/look
// Covers: run/white_balance, run/stack_request, run/finish_request, run/inspect_request
// Covers: run/stacking, run/master_request, run/metrics_request, run/rank_request
#include "run/recipe_options.h"

#include <doctest/doctest.h>

#include "run/animate_request.h"
#include "run/finish_request.h"
#include "run/inspect_request.h"
#include "run/master_request.h"
#include "run/merge_request.h"
#include "run/metrics_request.h"
#include "run/mosaic_request.h"
#include "run/rank_request.h"
#include "run/stack_request.h"

namespace {

using namespace lull::run;
using lull::InputError;
using lull::UsageError;

// Values that are no defaults, for the options of a stack that a recipe holds.
const std::vector<std::pair<std::string, std::string>> kOtherValues = {
    {"capture", "moon.ser"},
    {"--dark", "dark.fits"},
    {"--flat", "flat.fits"},
    {"--flat-dark", "d.fits"},
    {"--metric", "laplacian"},
    {"--cfa", "GRBG"},
    {"--byte-order", "big"},
    {"--pixel-format", "gray"},
    {"--pattern-noise", "off"},
    {"--keep", "15%"},
    {"--patch", "40"},
    {"--frame", "whole"},
    {"--dispersion", "off"},
    {"--fusion", "selection"},
    {"--scale", "1.5"},
    {"--pixfrac", "0.5"},
    {"--derotate", "auto"},
    {"--north", "12.5"},
    {"--mirrored", "true"},
    {"--to", "2026-11-30T21:04:30.000000"},
    {"--finish", "none"},
    {"--detail", "1.5:2,3:1.6,8:1.1"},
    {"--blur", "2.5"},
    {"--restraint", "0.7"},
    {"--white-balance", "1.4,1,1.8"},
    {"--saturation", "1.3"},
    {"--flatten-limb", "true"},
    {"--tone", "asinh"},
    {"--black", "0.01"},
    {"--white", "0.9"},
    {"--aperture", "203"},
    {"--focal-length", "2900"},
    {"--pixel", "3.75"},
    {"--wavelength", "610"},
    {"--filter", "R"},
    {"--object", "moon"},
    {"--crop", "4,6,64,48"},
    {"--frames", "100-900"},
    {"--exclude", "112,140-160"},
    {"--channel-offsets", "0.3,-0.5,0,2"},
    {"--flip", "left-right"},
    {"--rotate", "-12.5"}};

template <class Request>
void check_table(const OptionTable<Request>& table) {
  for (const Option<Request>& option : table) {
    CAPTURE(option.facts.name);
    CHECK_FALSE(option.facts.help.empty());
    if (option.facts.in_recipe == InRecipe::no || option.get(Request{}) == "") continue;
    // A default is a valid value of the option, unless it means none.
    Request request;
    if (option_text(option.get(request)) != "0") {
      CHECK_NOTHROW(option.set(request, option_text(option.get(request))));
    }
    CHECK_FALSE(is_given(option, request));
  }
}

}  // namespace

TEST_SUITE("run/recipe_options") {
  TEST_CASE("a recipe gives back every option that it holds, and lists them all") {
    StackRequest request;
    for (const auto& one : kOtherValues) {
      const std::string& name = one.first;
      const std::string& text = one.second;
      CAPTURE(name);
      const Option<StackRequest>& option = option_named(stack_options(), name);
      CHECK(option.facts.in_recipe != InRecipe::no);
      option.set(request, text);
      CHECK(option_text(option.get(request)) == text);
    }
    const nlohmann::json recipe = recipe_of(stack_options(), request);
    CHECK(recipe.size() == kOtherValues.size());
    const StackRequest back = request_of(stack_options(), recipe, "a.recipe.json");
    CHECK(recipe_of(stack_options(), back) == recipe);
  }

  TEST_CASE("recipes are held to the ranges of the command line") {
    const nlohmann::json good = recipe_of(stack_options(), StackRequest{});
    CHECK_NOTHROW(static_cast<void>(request_of(stack_options(), good, "r.json")));
    const std::vector<std::pair<std::string, nlohmann::json>> bad = {
        {"restraint", 1e308},   {"saturation", 1e308},  {"blur", -1},        {"patch", "7"},
        {"keep", "0%"},         {"scale", "1e9"},       {"aperture", 1e300}, {"tone", "loud"},
        {"restraint", nullptr}, {"flatten_limb", "on"}, {"detail", "3:1e9"}, {"black", "nan"}};
    for (const auto& [key, value] : bad) {
      nlohmann::json recipe = good;
      recipe[key] = value;
      CAPTURE(recipe.dump());
      CHECK_THROWS_WITH_AS(static_cast<void>(request_of(stack_options(), recipe, "r.json")),
                           doctest::Contains("r.json: --"), InputError);
    }
  }

  TEST_CASE("a key that every version wrote must be there; one of a later version need not") {
    nlohmann::json recipe = recipe_of(stack_options(), StackRequest{});
    recipe.erase("fusion");
    recipe.erase("pattern_noise");
    const StackRequest old = request_of(stack_options(), recipe, "r.json");
    CHECK(old.stacking.fusion == FusionChoice::selection);
    CHECK(old.input.pattern_noise == PatternNoiseChoice::off);
    recipe.erase("keep");
    CHECK_THROWS_WITH_AS(static_cast<void>(request_of(stack_options(), recipe, "r.json")),
                         doctest::Contains("keep"), InputError);
  }

  TEST_CASE("every option has help, and its default is a value that it takes") {
    check_table(inspect_options());
    check_table(rank_options());
    check_table(metrics_options());
    check_table(stack_options());
    check_table(finish_options());
    check_table(master_options());
    check_table(merge_options());
    check_table(mosaic_options());
    check_table(animate_options());
  }

  TEST_CASE("options that need others are refused once, with all that is missing") {
    StackRequest request;
    request.output = "a.tif";
    request.instrument.aperture_mm = 200;
    CHECK_THROWS_WITH_AS(check_complete(stack_options(), request),
                         "--aperture also needs --focal-length and --pixel", UsageError);
    request.instrument = {};
    request.instrument.wavelength_nm = 610;
    CHECK_THROWS_WITH_AS(check_complete(stack_options(), request),
                         "--wavelength also needs --aperture, --focal-length and --pixel",
                         UsageError);
    request.instrument = {};
    CHECK_NOTHROW(check_complete(stack_options(), request));
  }

  TEST_CASE("what a verb cannot do without is asked for once, all of it") {
    CHECK_THROWS_WITH_AS(check_complete(master_options(), MasterRequest{}),
                         "CAPTURE (Captures, images or folders of these, combined) and --kind "
                         "dark|flat (What the frames are) are missing",
                         UsageError);
  }

  TEST_CASE("several captures are a list in a recipe, and new ones replace them") {
    StackRequest request;
    request.input.captures = {"a.ser", "b.ser"};
    const nlohmann::json recipe = recipe_of(stack_options(), request);
    CHECK(recipe.at("capture") == nlohmann::json({"a.ser", "b.ser"}));
    StackRequest back = request_of(stack_options(), recipe, "r.json");
    CHECK(back.input.captures == request.input.captures);
    set_all(option_named(stack_options(), "capture"), back, {"c.ser"});
    CHECK(back.input.captures == std::vector<std::string>{"c.ser"});
  }
}

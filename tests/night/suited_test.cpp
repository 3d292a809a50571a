// Covers: night/suited
#include "night/suited.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstdint>
#include <filesystem>
#include <fstream>

#include "night/night_job.h"
#include "support/bytes.h"
#include "support/samples.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::night;

TEST_SUITE("night/suited") {
  namespace {

  // Of a mono capture of the Sun, one of a mosaic and one in colour.
  Plan plan_of_samples() {
    Plan plan;
    plan.pictures = {
        {.name = "sun", .captures = {test::sample("granules.mkv")}, .object = "sun"},
        {.name = "jupiter", .captures = {test::sample("belts_mosaic.nut")}, .object = "jupiter"},
        {.name = "webcam", .captures = {test::sample("webcam_uyvy.avi")}}};
    return plan;
  }

  using Settings = std::vector<profile::OptionSetting>;

  const run::StackRequest& request_of(const std::vector<NightJob>& jobs, const std::string& name) {
    const auto found = std::find_if(jobs.begin(), jobs.end(),
                                    [&](const NightJob& one) { return one.name == name; });
    REQUIRE(found != jobs.end());
    return found->stack();
  }

  // The first frames of ringed_faint.ser, each with its time in a trailer.
  std::string sample_with_times(const test::TemporaryFolder& folder) {
    constexpr std::size_t kHeader = 178;
    constexpr std::size_t kFrame = std::size_t{240} * 144;
    constexpr std::streamoff kCount = 38;  // where the header has the number of frames
    constexpr std::uint64_t kFrames = 3;
    constexpr std::uint64_t kBegin = 638'000'000'000'000'000;  // of 100 ns, in 2022
    std::string path = folder.file("timed.ser");
    test::write_beginning(path, test::sample("ringed_faint.ser"), kHeader + kFrames * kFrame);
    std::fstream file(path, std::ios::binary | std::ios::in | std::ios::out);
    const auto put = [&](std::uint64_t value, unsigned bits) {
      for (unsigned shift = 0; shift < bits; shift += 8)
        file.put(static_cast<char>((value >> shift) & 0xFFU));
    };
    file.seekp(kCount);
    put(kFrames, 32);
    file.seekp(0, std::ios::end);
    for (std::uint64_t frame = 0; frame < kFrames; ++frame) put(kBegin + frame * 200'000, 64);
    return path;
  }

  }  // namespace

  TEST_CASE("options of colours count where there are colours, and that is told once") {
    const Settings given = {{"--saturation", {"1.3"}, 0}, {"--keep", {"20%"}, 0}};
    const auto jobs = jobs_of(plan_of_samples(), {}, given, NightFolder("out"));
    CHECK(request_of(jobs, "sun").look.saturation == 1);
    CHECK(request_of(jobs, "jupiter").look.saturation == 1.3);
    CHECK(request_of(jobs, "webcam").look.saturation == 1.3);
    CHECK(notes_of(jobs) == std::vector<std::string>{
                                "--saturation 1.3 is left out for 1 picture without colours: sun"});
    const auto by_profile = profile::parse_profile("[options.all]\nsaturation = 1.2\n", "a.toml");
    CHECK(notes_of(jobs_of(plan_of_samples(), by_profile, {}, NightFolder("out"))).size() == 1);
  }

  TEST_CASE("what is asked of one picture alone stays, and is refused by its run") {
    Plan plan = plan_of_samples();
    plan.pictures[0].options = {{"--saturation", {"1.3"}, 0}};
    const auto jobs = jobs_of(plan, {}, {}, NightFolder("out"));
    CHECK(request_of(jobs, "sun").look.saturation == 1.3);
    CHECK(notes_of(jobs).empty());
  }

  TEST_CASE("mosaics, layouts, derotation and published colours go where they fit") {
    const Settings given = {{"--cfa", {"RGGB"}, 0},
                            {"--derotate", {"auto"}, 0},
                            {"--north", {"12"}, 0},
                            {"--white-balance", {"sunlight"}, 0}};
    const test::TemporaryFolder folder;
    Plan plan = plan_of_samples();
    plan.pictures.push_back(
        {.name = "timed", .captures = {sample_with_times(folder)}, .object = "jupiter"});
    const auto jobs = jobs_of(plan, {}, given, NightFolder("out"));
    const run::StackRequest& webcam = request_of(jobs, "webcam");
    CHECK_FALSE(webcam.input.cfa);
    CHECK(webcam.stacking.derotate == run::DerotateChoice::off);
    CHECK_FALSE(webcam.turning.north_deg);
    CHECK(request_of(jobs, "jupiter").stacking.derotate == run::DerotateChoice::off);
    const run::StackRequest& jupiter = request_of(jobs, "timed");
    CHECK(jupiter.input.cfa == capture::Cfa::rggb);
    CHECK(jupiter.stacking.derotate == run::DerotateChoice::automatic);
    CHECK(jupiter.turning.north_deg == 12);
    CHECK(jupiter.look.white_balance == run::WhiteBalanceChoice(run::WhiteBalanceRule::sunlight));
    const auto notes = notes_of(jobs);
    REQUIRE(notes.size() == 4);
    CHECK(notes[0] == "--cfa RGGB is left out for 1 picture whose files contradict it: webcam");
    CHECK(notes[1].ends_with("no planet that can be derotated: sun, webcam"));
    CHECK(notes[2].ends_with("whose frames state no time: jupiter"));
    CHECK(notes[3].ends_with("whose colour is not published: sun, webcam"));
  }

  TEST_CASE("a merged picture gets no published colour of what has none") {
    run::MergeRequest merge;
    merge.look.white_balance = run::WhiteBalanceRule::sunlight;
    merge.look.object = run::Object::moon;
    CHECK(leave_unsuited(merge, {"--white-balance"}).empty());
    CHECK(leave_unsuited(merge, {}).size() == 1);
    CHECK(merge.look.white_balance == run::WhiteBalanceChoice(run::WhiteBalanceRule::automatic));
  }

  TEST_CASE("a capture that cannot be opened is left to its run") {
    Plan plan;
    plan.pictures = {{.name = "gone", .captures = {"/nowhere/gone.ser"}}};
    const auto jobs = jobs_of(plan, {}, Settings{{"--saturation", {"2"}, 0}}, NightFolder("out"));
    CHECK(jobs.front().stack().look.saturation == 2);
    CHECK(jobs.front().unsuited.empty());
  }
}

// Captures of the lab in which something is odd: what inspect and stack report of each.
#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "files/picture_file.h"
#include "judge/judge.h"
#include "lab/presets.h"
#include "lab/simulator.h"
#include "support/run_program.h"
#include "support/temporary_folder.h"
#include "support/text.h"

namespace {

using namespace lull;
using nlohmann::json;
using Names = std::vector<std::string>;

/// An odd world on the disk.
class World {
 public:
  explicit World(const std::string& name) : World(lab::preset("odd-" + name).parameters) {}

  explicit World(const lab::Parameters& parameters)
      : name_(parameters.name), path_(lab::simulate(parameters, folder_.path(), {}).string()) {}

  /// Of the stack against the truth.
  [[nodiscard]] auto channels() const {
    const judge::Truth truth = judge::read_truth(folder_.file(name_ + ".truth.fits"));
    return judge::judge(files::read_picture(folder_.file("o.fits")).picture, truth).channels;
  }

  [[nodiscard]] json inspect() const {
    const test::Run run = test::run_lull({"inspect", path_, "--json", "--quiet"});
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return json::parse(run.output);
  }

  [[nodiscard]] json stack(std::string* text = nullptr, const std::string& scale = "1") const {
    const std::vector<std::string> words = {
        "stack",    path_,  "-o",      folder_.file("o.fits"), "--finish", "none",
        "--report", "none", "--quiet", "--overwrite",          "--scale",  scale};
    if (text != nullptr) *text = test::run_lull(words).output;
    auto with_json = words;
    with_json.emplace_back("--json");
    const test::Run run = test::run_lull(with_json);
    CAPTURE(run.errors);
    REQUIRE(run.status == 0);
    return json::parse(run.output);
  }

 private:
  test::TemporaryFolder folder_;
  std::string name_;
  std::string path_;
};

// But that they are few, and that the lab's pixels are fine for its optics or not.
Names findings_of(const json& report) {
  Names names;
  for (const json& finding : report.at("findings")) {
    const auto name = finding.at("name").get<std::string>();
    if (name != "few_frames") names.push_back(name);
  }
  return names;
}

std::string words_of(const json& report, const std::string& name) {
  for (const json& finding : report.at("findings"))
    if (finding.at("name") == name) return finding.at("what").get<std::string>();
  return {};
}

// The number before "degrees".
double degrees_in(const std::string& words) {
  const auto end = words.find(" degrees");
  REQUIRE(end != std::string::npos);
  return std::stod(words.substr(words.rfind(' ', end - 1) + 1));
}

// Of the same world at rest. Its truth is that of the middle of the turn.
lab::Parameters at_rest(lab::Parameters turning) {
  turning.mount.rotation_deg_s = 0;
  turning.name += "-at-rest";
  return turning;
}

// The stacks of both, enlarged or not, are equally sharp, in each colour.
void check_turned_back(const World& turning, const World& still, const std::string& scale) {
  CAPTURE(scale);
  CHECK(test::contains(turning.stack(nullptr, scale).at("notes").dump(), "turned back"));
  CHECK(!test::contains(still.stack(nullptr, scale).at("notes").dump(), "turned back"));
  const auto turned = turning.channels();
  const auto other = still.channels();
  REQUIRE(turned.size() == other.size());
  for (std::size_t i = 0; i < turned.size(); ++i) {
    CAPTURE(i);
    CAPTURE(turned[i].measures.psnr_best_radial);
    CAPTURE(other[i].measures.psnr_best_radial);
    CHECK(turned[i].measures.psnr_best_radial > other[i].measures.psnr_best_radial - 2);
    CHECK(turned[i].measures.frc_auc > other[i].measures.frc_auc - 0.03);
  }
}

}  // namespace

TEST_SUITE("inspect/odd_worlds") {
  TEST_CASE("a capture that is turned or mirrored half-way") {
    struct Turn {
      const char* name;
      const char* words;
    };

    for (const Turn& turn : {Turn{"flip", "frames 48-95 are turned by 180 degrees"},
                             Turn{"mirror", "frames 48-95 are mirrored left to right"}}) {
      CAPTURE(turn.name);
      const World world(turn.name);
      const json report = world.inspect();
      CHECK(findings_of(report) == Names{"turned"});
      CHECK(test::contains(words_of(report, "turned"), turn.words));
      std::string text;
      const json stacked = world.stack(&text);
      const std::string words = test::on_one_line(text);
      CHECK(test::contains(words, turn.words));
      CHECK(test::contains(words, "they are turned back"));
      CHECK(stacked.at("resolution_px").get<double>() < 4);  // as of the half before the turn
    }
  }

  TEST_CASE("what is odd but no fault has no finding: a turning field, bodies, a crescent") {
    for (const char* name : {"rotation", "crossing", "moon", "crescent"}) {
      CAPTURE(std::string(name));
      const World world(name);
      const json report = world.inspect();
      CAPTURE(report.at("findings").dump());
      CHECK(findings_of(report).empty());
      CHECK(report.at("usable") == 96);
      CHECK(report.at("target").at("kind") == (name == std::string("rotation") ? "field" : "disc"));
      CHECK(world.stack().at("resolution_px").get<double>() < 4);
    }
  }

  // The truth of the turning capture is that of its middle.
  TEST_CASE("a field that turns far is measured, and the stack is as sharp as one at rest") {
    const lab::Parameters turning = lab::preset("odd-turning").parameters;
    const World world(turning);
    const json report = world.inspect();
    CHECK(findings_of(report) == Names{"field_turns"});
    CHECK(std::abs(degrees_in(words_of(report, "field_turns")) - 16) < 1);
    std::string text;
    static_cast<void>(world.stack(&text));
    CHECK(test::contains(test::on_one_line(text), "the frames are turned back"));
    const World still(at_rest(turning));
    CHECK(findings_of(still.inspect()).empty());
    check_turned_back(world, still, "1");
    check_turned_back(world, still, "1.5");
  }

  TEST_CASE("the frames of a mosaic are turned back, enlarged or not") {
    lab::Parameters turning = lab::preset("odd-turning").parameters;
    turning.camera.colour = "rggb";
    turning.container = "nut";
    turning.name = "mosaic";
    const World world(turning);
    const World still(at_rest(turning));
    check_turned_back(world, still, "1");
    check_turned_back(world, still, "2");
    CHECK(world.channels().size() == 3);
  }

  TEST_CASE("thin cloud with a ring of light: the light varies, the disc is followed") {
    const json report = World("veil").inspect();
    CHECK(findings_of(report) == Names{"light_varies"});
    CHECK(report.at("usable") == 96);
    CHECK(report.at("target").at("kind") == "disc");
    CHECK(report.at("steadiness").at("light_step").is_null());
  }

  TEST_CASE("a burnt core: inspect and stack say how much of it is lost") {
    const World world("burnt");
    const json report = world.inspect();
    CHECK(findings_of(report) == Names{"saturated"});
    CHECK(report.at("exposure").at("saturated_frames") == 1);
    std::string text;
    static_cast<void>(world.stack(&text));
    CHECK(test::contains(text, "of the area of the kept frames reaches full scale"));
  }

  TEST_CASE("interlaced rows are found by how far they lie apart") {
    const json report = World("interlaced").inspect();
    CHECK(findings_of(report) == Names{"interlaced", "drift"});
    // The mount drifts by 25 px/s and half a frame takes 0.02 s; the air adds to it.
    CHECK(report.at("interlace").at("shift_px").get<double>() > 0.3);
    CHECK(report.at("interlace").at("shift_px").get<double>() < 1.5);
  }

  TEST_CASE("each picture four times") {
    const json report = World("copies").inspect();
    CHECK(findings_of(report) == Names{"doubled"});
    CHECK(test::contains(words_of(report, "doubled"), "each picture is stored 4.0 times"));
    CHECK(report.at("usable") == 24);
    CHECK(report.at("left_out").at("doubled") == 72);
  }

  TEST_CASE("exposure, filter or focus changed half-way: at frame 48, by how much") {
    struct Change {
      const char* name;
      const char* finding;
      const char* step;
      double change;
      double within;
    };

    // The exposure is 1.2 times as long. The filter lets 0.7 of the light through. Defocus by 1.2
    // rad leaves exp(-1.2^2) = 0.24 of the Strehl ratio (Mahajan 1983, from memory), and less than
    // that of the power of fine detail.
    for (const Change& change : {Change{"exposure", "light_changes", "light_step", 0.2, 0.04},
                                 Change{"filter", "light_changes", "light_step", -0.3, 0.04},
                                 Change{"focus", "focus_changes", "sharpness_step", -0.88, 0.12}}) {
      CAPTURE(std::string(change.name));
      const World world(change.name);
      const json report = world.inspect();
      CAPTURE(report.at("findings").dump());
      CAPTURE(report.at("steadiness").dump());
      CHECK(findings_of(report) == Names{change.finding});
      CHECK(test::contains(words_of(report, change.finding), "at frame 48, all at once"));
      const json& step = report.at("steadiness").at(change.step);
      REQUIRE(step.is_object());
      CHECK(step.at("frame") == 48);
      CHECK(std::abs(step.at("change").get<double>() - change.change) < change.within);
    }
  }
}

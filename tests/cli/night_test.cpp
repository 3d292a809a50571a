// Covers: cli/night_verb, cli/night_screen, cli/night_text
#include <doctest/doctest.h>
#include <sys/wait.h>
#include <unistd.h>

#include <atomic>
#include <chrono>
#include <filesystem>
#include <fstream>
#include <functional>
#include <iterator>
#include <map>
#include <nlohmann/json.hpp>
#include <set>
#include <thread>

#include "cli/night_screen.h"
#include "support/run_program.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/text.h"

// `lull night`, as users run it.

TEST_SUITE("cli/night") {
  namespace {

  using namespace lull::test;
  namespace fs = std::filesystem;
  using nlohmann::json;

  std::string bytes_of_file(const fs::path& path) {
    std::ifstream file(path, std::ios::binary);
    return {std::istreambuf_iterator<char>(file), {}};
  }

  // All files below a folder with their bytes.
  std::map<std::string, std::string> tree(const fs::path& folder) {
    std::map<std::string, std::string> out;
    for (const auto& entry : fs::recursive_directory_iterator(folder)) {
      if (entry.is_regular_file())
        out[fs::relative(entry.path(), folder).string()] = bytes_of_file(entry.path());
    }
    return out;
  }

  // What the lab records: three targets, three filters, darks and flats.
  // The moon is on a tape, from which a camera will write it.
  void record_night(const std::string& in, const std::string& tape) {
    const auto record = [&](const char* preset, const std::string& name, const std::string& to) {
      REQUIRE(run_sim({preset, "-o", to, "--frames", "24", "--size", "64x64", "--name", name,
                       "--quiet"})
                  .status == 0);
    };
    record("mars-good", "mars_R", in);
    record("moon-close-good", "moon", tape);
    record("sun-surface-good", "sun", in);
    // The lab takes seconds for each: the same frames in another file.
    for (const char* filter : {"G", "B"}) {
      const std::string path = in + "/mars_" + filter + ".mkv";
      fs::copy_file(in + "/mars_R.mkv", path);
      std::ofstream(path, std::ios::app) << filter;
    }
    fs::copy_file(in + "/sun.mkv", in + "/twin.mkv");
    write_cut_ser(in + "/broken.ser");
  }

  // Grows while the night is at work, as a camera writes it.
  class Camera {
   public:
    Camera(const std::string& from, const std::string& to)
        : thread_([from, to](const std::stop_token& stop) {
            const std::string bytes = bytes_of_file(from);
            std::ofstream file(to, std::ios::binary);
            constexpr std::size_t kParts = 10;
            for (std::size_t i = 0; i < kParts && !stop.stop_requested(); ++i) {
              const std::size_t begin = bytes.size() * i / kParts;
              file.write(bytes.data() + begin,
                         static_cast<std::streamsize>(bytes.size() * (i + 1) / kParts - begin));
              file.flush();
              std::this_thread::sleep_for(std::chrono::milliseconds(300));
            }
          }) {}

   private:
    std::jthread thread_;
  };

  std::size_t pictures_in(const fs::path& folder) {
    std::size_t count = 0;
    std::error_code ignored;
    for (fs::directory_iterator entry(folder, ignored), end; entry != end; entry.increment(ignored))
      count += entry->path().extension() == ".tif" ? 1U : 0U;
    return count;
  }

  // A run that is left alone.
  pid_t begun(const std::string& folder, const std::vector<std::string>& words) {
    const pid_t child = ::fork();
    if (child == 0) {
      std::vector<std::string> all = {LULL_PROGRAMS "/lull"};
      all.insert(all.end(), words.begin(), words.end());
      std::vector<char*> arguments;
      for (std::string& word : all) arguments.push_back(word.data());
      arguments.push_back(nullptr);
      if (::chdir(folder.c_str()) != 0) ::_exit(1);
      ::execv(arguments[0], arguments.data());
      ::_exit(kCannotRun);
    }
    REQUIRE(child > 0);
    return child;
  }

  // @return whether it came about before the run ended by itself.
  bool awaited(pid_t child, int& state, const std::function<bool()>& holds) {
    const auto patience = std::chrono::steady_clock::now() + std::chrono::minutes(5);
    while (!holds()) {
      if (::waitpid(child, &state, WNOHANG) != 0) return false;
      if (std::chrono::steady_clock::now() > patience) return false;
      std::this_thread::sleep_for(std::chrono::milliseconds(5));
    }
    return true;
  }

  // A night that loses its power once it has made so many pictures.
  void run_and_kill(const std::string& folder, const std::vector<std::string>& words,
                    std::size_t after) {
    const pid_t child = begun(folder, words);
    int state = 0;
    CHECK(awaited(child, state, [&] { return pictures_in(folder + "/out") >= after; }));
    ::kill(child, SIGKILL);
    ::waitpid(child, &state, 0);
  }

  }  // namespace

  TEST_CASE("a night, killed twice and resumed, gives the same bytes as without") {
    const TemporaryFolder folder;
    const std::string in = folder.file("in");
    record_night(in, folder.file("tape"));
    fs::create_directories(folder / "once");
    fs::create_directories(folder / "killed");
    std::ofstream(folder.file("p.toml")) << "[options.mars]\nrestraint = 0.9\n";
    const std::vector<std::string> words = {"night",  "../in", "-o",        "out",
                                            "--jobs", "2",     "--profile", "../p.toml"};
    {
      const Camera camera(folder.file("tape/moon.mkv"), in + "/moon.mkv");
      run_and_kill(folder.file("killed"), words, 1);
      run_and_kill(folder.file("killed"), words, 3);
      const Run last = run_lull(words, {.folder = folder.file("killed")});
      CAPTURE(last.text());
      CHECK(last.status == 4);
      CHECK(contains(last.output, "failed: ../in/broken.ser"));
      CHECK(contains(last.output, "The Sun: record it only with a certified"));
      CHECK(contains(last.output, "left out: ../in/twin.mkv: the same bytes as"));
    }
    const Run once = run_lull(words, {.folder = folder.file("once")});
    CHECK(once.status == 4);
    CHECK(contains(once.output, "6 pictures made, 0 done before, 1 failed"));
    const auto killed = tree(folder / "killed/out");
    const auto whole = tree(folder / "once/out");
    for (const auto& file : killed) {
      CAPTURE(file.first);
      CHECK(whole.contains(file.first));
    }
    for (const auto& file : whole) {
      CAPTURE(file.first);
      REQUIRE(killed.contains(file.first));
      CHECK(killed.at(file.first) == file.second);
    }
    CHECK(whole.contains("night.html"));
    CHECK(whole.contains("night/masters/dark_sun.fits"));
    const json figures = json::parse(whole.at("night.json"));
    CHECK(figures.at("pictures").size() == 6);
    CHECK(whole.contains("mars_RGB.linear.fits"));
    CHECK(contains(whole.at("night.csv"), "\nmars_RGB,done,"));
    const json recipe = json::parse(whole.at("mars_R.recipe.json"));
    CHECK(recipe.at("options").at("restraint") == 0.9);
    CHECK(recipe.at("options").at("filter") == "R");
    CHECK(json::parse(whole.at("sun.recipe.json")).at("options").at("dark") ==
          "out/night/masters/dark_sun.fits");
    // The same as `lull stack` on its own.
    REQUIRE(run_lull({"stack", "../in/moon.mkv", "--object", "moon", "-o", "alone.tif"},
                     {.folder = folder.file("once")})
                .status == 0);
    CHECK(bytes_of_file(folder / "once/alone.tif") == whole.at("moon.tif"));
    // On other machines, two of which meet the same line.
    fs::create_directories(folder / "lines");
    const RunOptions lines = {.folder = folder.file("lines")};
    REQUIRE(run_lull({"night", "../in", "-o", "out", "--profile", "../p.toml", "--plan",
                      "--jobs-file", "jobs.jsonl"},
                     lines)
                .status == 0);
    const auto line = [&](const char* number) -> std::vector<std::string> {
      return {"night", "--jobs-file", folder.file("lines/jobs.jsonl"), "--job", number};
    };
    Run one;
    std::jthread beside([&] { one = run_lull(line("5")); });
    const Run other = run_lull(line("5"));
    beside.join();
    CHECK(one.status == 0);
    CHECK(other.status == 0);
    CHECK(contains(one.output, "1 picture made") != contains(other.output, "1 picture made"));
    // The last merges, and makes what of its parts is not there yet.
    CHECK(run_lull(line("6")).status == 0);
    // The damaged capture is told again, and so is what no line has made yet.
    const Run gather = run_lull({"night", "--gather", "-o", "out"}, lines);
    CHECK(gather.status == 4);
    CHECK(contains(gather.output, "failed: ../in/broken.ser"));
    CHECK(contains(gather.output, "failed: sun: not made yet"));
    const json gathered = json::parse(bytes_of_file(folder / "lines/out/night.json"));
    std::set<std::string> names;
    for (const json& picture : gathered.at("pictures")) names.insert(picture.at("name"));
    CHECK(names.contains("mars_RGB"));
    CHECK(names.contains("mars_B"));
    for (const std::string& name : names) {
      for (const char* ending : {".tif", ".linear.fits", ".recipe.json", ".html"}) {
        CAPTURE(name + ending);
        CHECK(bytes_of_file(folder / "lines/out" / (name + ending)) == whole.at(name + ending));
      }
    }
  }

  TEST_CASE("a plan is printed, changes nothing, and can be run") {
    const TemporaryFolder folder;
    fs::create_directories(folder / "in");
    fs::copy_file(sample("granules.mkv"), folder / "in/sun.mkv");
    fs::copy_file(sample("granules_dark.mkv"), folder / "in/sun_dark.mkv");
    const auto before = tree(folder.path());
    const Run plan = run_lull({"night", "in", "--plan"}, {.folder = folder.path()});
    REQUIRE(plan.status == 0);
    CHECK(tree(folder.path()) == before);
    CHECK(contains(plan.output, "# target sun: by its name"));
    CHECK(contains(plan.output, "# The Sun: record it only with a certified"));
    CHECK(contains(plan.output, "dark = \"dark_sun\""));
    std::ofstream(folder.file("n.toml")) << plan.output << "[picture.options]\nkeep = 12\n";
    const Run run = run_lull({"night", "n.toml", "-o", "out"}, {.folder = folder.path()});
    CAPTURE(run.text());
    CHECK(run.status == 0);
    CHECK(json::parse(bytes_of_file(folder / "out/sun.recipe.json")).at("figures").at("kept") ==
          12);
    CHECK(run_lull({"night", "n.toml", "-o", "out", "--json"}, {.folder = folder.path()})
              .output.find("done before") != std::string::npos);
  }

  TEST_CASE("two nights into one folder, and folders that cannot be, are refused") {
    const TemporaryFolder folder;
    fs::create_directories(folder / "in");
    fs::copy_file(sample("granules.mkv"), folder / "in/sun.mkv");
    fs::create_directories(folder / "out/night");
    std::ifstream stat("/proc/self/stat");
    std::string all{std::istreambuf_iterator<char>(stat), {}};
    std::istringstream fields(all.substr(all.rfind(')') + 2));
    std::string field;
    for (int i = 3; i <= 22; ++i) fields >> field;
    char name[256] = {};
    REQUIRE(::gethostname(name, sizeof name - 1) == 0);
    std::ofstream(folder.file("out/night/lock"))
        << name << " " << ::getpid() << " " << field << " 0\n";
    check_refused({"night", folder.file("in"), "-o", folder.file("out")}, 2,
                  "another night is at work in this folder");
    check_refused({"night", folder.file("none"), "-o", folder.file("o")}, 3, "cannot be read");
    check_refused({"night", folder.file("in/sun.mkv"), "-o", folder.file("o")}, 3, "no folder");
    fs::create_directories(folder / "empty");
    CHECK(contains(run_lull({"night", folder.file("empty"), "--plan"}).output, "no capture"));
    check_refused({"night", folder.file("in"), "-o", folder.file("in")}, 2,
                  "the folder of the captures");
    check_refused({"night", folder.file("in")}, 2, "name the folder for the results");
    check_refused({"night", folder.file("in"), "-o", "/proc/nowhere"}, 5, "/proc/nowhere");
    check_refused({"night", folder.file("in"), "-o", folder.file("o"), "--keep", "0%"}, 2,
                  "--keep");
    check_refused({"night", "--gather", "-o", folder.file("o")}, 3, "no night has been here");
  }

  TEST_CASE("with --watch a capture that grows is waited for, and Ctrl-C ends it well") {
    const TemporaryFolder folder;
    fs::create_directories(folder / "in");
    const Camera camera(sample("granules.mkv"), folder.file("in/sun.mkv"));
    const pid_t child = begun(folder.path(), {"night", "in", "-o", "out", "--watch", "--quiet"});
    int state = 0;
    REQUIRE(awaited(child, state, [&] {
      return contains(bytes_of_file(folder / "out/night.csv"), "\nsun,done,");
    }));
    std::this_thread::sleep_for(std::chrono::seconds(2));
    ::kill(child, SIGINT);
    ::waitpid(child, &state, 0);
    REQUIRE(WIFEXITED(state));
    CHECK(WEXITSTATUS(state) == 0);
    CHECK(fs::exists(folder / "out/night.html"));
    CHECK_FALSE(fs::exists(folder / "out/night/lock"));
  }

  TEST_CASE("the screen names those at work, and fits into the terminal") {
    lull::night::NightProgress progress;
    progress.done = 3;
    progress.total = 20;
    progress.failed = 1;
    progress.share = 0.25;
    progress.left_s = 90;
    for (int i = 0; i < 20; ++i)
      progress.at_work.push_back({std::string(60, 'a') + "\x1b[2J\xC3\xA9", "stacking", 0.5});
    const auto lines = lull::cli::night_block(progress, 40);
    CHECK(lines[0] == "25%, 90 s left: 3 of 20 pictures, 1 fai");
    CHECK(lines.size() == 9);
    for (const std::string& line : lines) {
      CHECK(line.size() < 40);
      CHECK(line.find('\x1b') == std::string::npos);
    }
  }
}

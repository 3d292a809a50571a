// Covers: night/do_job, night/crew, night/small_picture, night/night_folder, night/duplicates
#include "night/record.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cmath>
#include <filesystem>
#include <fstream>
#include <random>

#include "core/error.h"
#include "night/crew.h"
#include "night/duplicates.h"
#include "night/small_picture.h"
#include "support/samples.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::night;
using lull::test::TemporaryFolder;
using lull::test::write_cut_ser;
namespace fs = std::filesystem;

TEST_SUITE("night/record") {
  namespace {

  NightJob job_of(const std::string& name, const std::string& capture, const NightFolder& place) {
    NightJob job;
    job.name = name;
    job.stack().input.captures = {capture};
    job.stack().output = place.picture(name);
    job.cost_bytes = 1000;
    return job;
  }

  void write(const std::string& path, const std::string& text) {
    fs::create_directories(fs::path(path).parent_path());
    std::ofstream(path) << text;
  }

  // A capture that is done in a moment: a pattern that moves, and noise.
  std::string small_capture(const TemporaryFolder& folder) {
    const std::string path = folder.file("in/mars.mkv");
    if (fs::exists(path)) return path;
    fs::create_directories(folder / "in");
    constexpr int kSide = 64;
    std::mt19937 random(20260301);
    std::uniform_int_distribution<int> noise(-4, 4);
    std::vector<std::vector<std::byte>> frames;
    for (int i = 0; i < 12; ++i) {
      std::vector<std::byte> frame;
      for (int y = 0; y < kSide; ++y) {
        for (int x = 0; x < kSide; ++x) {
          const double light = 100 + 40 * std::sin(0.7 * (x + i % 3)) * std::cos(0.5 * y) +
                               20 * std::sin(1.9 * (x + i % 3) + 0.3 * y);
          frame.push_back(static_cast<std::byte>(static_cast<int>(light) + noise(random)));
        }
      }
      frames.push_back(std::move(frame));
    }
    test::VideoFormat format;
    format.pixel_format = "gray";
    format.width_px = kSide;
    format.height_px = kSide;
    test::write_video(path, format, frames);
    return path;
  }

  JobResult done(const NightJob& job, const NightFolder& place,
                 const run::Resources& resources = {}) {
    const CancelToken cancel;
    const std::vector<NightJob> jobs = {job};
    return do_jobs(jobs, place, {1, 0}, resources, cancel, {}).front();
  }

  }  // namespace

  TEST_CASE("a picture is made once, and again when its options or its files change") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    NightJob job = job_of("a/mars", small_capture(folder), place);
    const JobResult first = done(job, place);
    REQUIRE(first.fate == Fate::made);
    CHECK(first.record.figures.at("kept") > 0);
    CHECK(first.record.picture.starts_with("data:image/jpeg;base64,"));
    CHECK(fs::exists(place.log("a/mars")));
    CHECK(done(job, place).fate == Fate::there_already);
    job.stack().look.saturation = 1;
    job.stack().look.restraint = 0.5;
    CHECK(done(job, place).fate == Fate::made);
    fs::remove(job.output());
    CHECK(done(job, place).fate == Fate::made);
    std::ofstream(job.stack().input.capture(), std::ios::app) << "x";
    CHECK(job_key(job) != first.record.key);
  }

  TEST_CASE("files that no night has made are kept") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    const NightJob job = job_of("mars", small_capture(folder), place);
    write(place.picture("mars"), "mine");
    for (int i = 0; i < 2; ++i) {
      const JobResult refused = done(job, place);
      CHECK(refused.fate == Fate::failed);
      CHECK(refused.record.problem.find("exists") != std::string::npos);
      CHECK(fs::file_size(place.picture("mars")) == 4);
    }
    CHECK(done(job, place, {.existing = run::ExistingFiles::replace}).fate == Fate::made);
  }

  TEST_CASE("what a night made stays its own when a capture is gone for a while") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    NightJob job = job_of("mars", small_capture(folder), place);
    REQUIRE(done(job, place).fate == Fate::made);
    fs::rename(folder / "in/mars.mkv", folder / "in/away.mkv");
    CHECK(done(job, place).fate == Fate::failed);
    fs::rename(folder / "in/away.mkv", folder / "in/mars.mkv");
    CHECK(done(job, place).fate == Fate::made);
  }

  TEST_CASE("a run that was killed between its files and its record is done again") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    const NightJob job = job_of("mars", small_capture(folder), place);
    Record begun = record_of_failure(job, "interrupted; run the night again", 130);
    begun.begun = true;
    save_record(place, begun);
    write(place.picture("mars"), "half of a run");
    CHECK(done(job, place).fate == Fate::made);
  }

  TEST_CASE("what fails is told with its remedy, and the others go on") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    fs::create_directory(folder / "in");
    write_cut_ser(folder.file("in/cut.ser"));
    const std::vector<NightJob> jobs = {job_of("cut", folder.file("in/cut.ser"), place),
                                        job_of("gone", folder.file("in/gone.ser"), place),
                                        job_of("mars", small_capture(folder), place)};
    const CancelToken cancel;
    std::size_t told = 0;
    NightWatcher watcher;
    watcher.ended = [&](const JobResult&, const NightProgress& progress) {
      CHECK(progress.done == ++told);
      CHECK(progress.total == 3);
    };
    const auto results = do_jobs(jobs, place, {2, 1e9}, {}, cancel, watcher);
    CHECK(told == 3);
    CHECK(results[0].fate == Fate::failed);
    CHECK(results[0].record.status == 3);
    CHECK(results[1].record.problem.find("gone.ser") != std::string::npos);
    CHECK(results[2].fate == Fate::made);
    CHECK(load_records(place).size() == 3);
  }

  TEST_CASE("a picture in colour follows its parts, and is skipped once where one of them fails") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    std::vector<NightJob> jobs(1);
    run::MergeRequest merge;
    for (auto [name, stack] :
         {std::pair{"R", &merge.red}, {"G", &merge.green}, {"B", &merge.blue}}) {
      fs::copy_file(small_capture(folder), folder / "in" / name);
      std::ofstream(folder / "in" / name, std::ios::app) << name;
      jobs.push_back(job_of(name, folder.file(std::string("in/") + name), place));
      jobs[0].parts.push_back(jobs.back());
      *stack = place.picture(name, ".linear.fits");
    }
    merge.output = place.picture("RGB");
    jobs[0].name = "RGB";
    jobs[0].request = merge;
    std::rotate(jobs.begin(), jobs.begin() + 1, jobs.end());
    const auto fates = [&] {
      const CancelToken cancel;
      std::vector<Fate> out;
      for (const JobResult& one : do_jobs(jobs, place, {2, 1e9}, {}, cancel, {}))
        out.push_back(one.fate);
      return out;
    };
    write(folder.file("in/B"), "no film");
    CHECK(fates() == std::vector{Fate::made, Fate::made, Fate::failed, Fate::skipped});
    // A machine that comes to the merge alone does not try again what failed.
    const auto failed = load_record(place, "B");
    const JobResult skipped = done(jobs[3], place);
    CHECK(skipped.fate == Fate::skipped);
    CHECK(skipped.record.problem == "not merged, since B failed");
    CHECK(to_json(*load_record(place, "B")) == to_json(*failed));
    fs::copy_file(folder / "in/G", folder / "in/B", fs::copy_options::overwrite_existing);
    CHECK(fates() == std::vector{Fate::there_already, Fate::there_already, Fate::made, Fate::made});
    CHECK(fates() == std::vector(4, Fate::there_already));
    const auto record = load_record(place, "RGB");
    CHECK(record->parts == std::vector<std::string>{"R", "G", "B"});
    CHECK(record->figures.at("frames") == 36);
    CHECK(record->filter == "RGB");
    // It makes the parts that are gone, and is made again when one of them is another.
    fs::remove(jobs[0].output());
    CHECK(done(jobs[3], place).fate == Fate::there_already);
    CHECK(fs::exists(jobs[0].output()));
    std::ofstream(folder / "in/R", std::ios::app) << "x";
    CHECK(done(jobs[3], place).fate == Fate::made);
  }

  TEST_CASE("a cancelled crew stops, and leaves no picture") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    const std::vector<NightJob> jobs = {job_of("mars", small_capture(folder), place)};
    const CancelToken cancel;
    NightWatcher watcher;
    watcher.progress = [&](const NightProgress&) { cancel.cancel(); };
    CHECK_THROWS_AS(static_cast<void>(do_jobs(jobs, place, {2, 1e9}, {}, cancel, watcher)),
                    Interrupted);
    CHECK_FALSE(fs::exists(place.picture("mars")));
  }

  TEST_CASE("the crew is as large as memory holds") {
    const NightFolder place("out");
    std::vector<NightJob> jobs(8, job_of("a", "a.ser", place));
    for (NightJob& job : jobs) job.need_bytes = 1e9;
    CHECK(crew_size(jobs, 0, {.memory_bytes = 1'500'000'000}).jobs == 1);
    CHECK(crew_size(jobs, 0, {.memory_bytes = 64'000'000'000}).jobs >= 2);
    CHECK(crew_size(jobs, 5, {}).jobs == 5);
    CHECK(crew_size({jobs[0]}, 5, {}).jobs == 1);
  }

  TEST_CASE("records that are damaged are no records") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    const Record record = record_of_failure(job_of("a\xFF", "x.ser", place), "broken; mend it", 3);
    save_record(place, record);
    const auto back = load_record(place, "a\xFF");
    REQUIRE(back);
    CHECK(back->problem == "broken");
    CHECK(back->remedy == "mend it");
    CHECK(back->name == record.name);
    for (const char* text : {"", "{}", "[1]", "{\"lull_night\": 2}", "{\"lull_night\": 3}"})
      CHECK_FALSE(record_in(text).has_value());
  }

  TEST_CASE("the same bytes under two names are found; the same length alone is not enough") {
    const TemporaryFolder folder;
    std::vector<capture::FoundCapture> captures;
    for (const auto& [name, text] :
         {std::pair{"a.ser", "abc"}, {"b.ser", "abd"}, {"c.ser", "abc"}}) {
      write(folder.file(name), text);
      capture::FoundCapture one;
      one.path = folder.file(name);
      one.bytes = 3;
      captures.push_back(one);
    }
    const auto found = take_duplicates(captures);
    REQUIRE(found.size() == 1);
    CHECK(found[0].path == folder.file("c.ser"));
    CHECK(found[0].same_as == folder.file("a.ser"));
    CHECK(captures.size() == 2);
  }

  // Reports take the checksum of the ends of such files alone, and these have the same.
  TEST_CASE("large captures that differ in the middle alone are both stacked") {
    const TemporaryFolder folder;
    constexpr std::uintmax_t kBytes = 70'000'000;
    std::vector<capture::FoundCapture> captures;
    for (const char* name : {"a.ser", "b.ser", "c.ser"}) {
      capture::FoundCapture one;
      one.path = folder.file(name);
      one.bytes = kBytes;
      write(one.path, "");
      fs::resize_file(one.path, kBytes);
      captures.push_back(one);
    }
    std::fstream middle(captures[1].path, std::ios::binary | std::ios::in | std::ios::out);
    middle.seekp(33'000'000);
    middle << "x";
    middle.close();
    // Where so much is not read, what is alike so far stays.
    const auto likely = take_duplicates(captures, 1'000'000);
    REQUIRE(likely.size() == 2);
    for (const Duplicate& one : likely) CHECK_FALSE(one.is_sure);
    REQUIRE(captures.size() == 3);
    CHECK_FALSE(same_bytes(captures[0].path, captures[1].path));
    const auto found = take_duplicates(captures);
    REQUIRE(found.size() == 1);
    CHECK(found[0].is_sure);
    CHECK(found[0].path == folder.file("c.ser"));
    CHECK(found[0].same_as == folder.file("a.ser"));
    // Of darks all are read.
    CHECK(without_copies(
              {folder.file("a.ser"), folder.file("b.ser"), folder.file("c.ser"), "s_%04d.png"}) ==
          std::vector<std::string>{folder.file("a.ser"), folder.file("b.ser"), "s_%04d.png"});
    // Captures over a dark sky differ elsewhere than at their beginnings.
    std::fstream end(captures[1].path, std::ios::binary | std::ios::in | std::ios::out);
    end.seekp(kBytes - 10);
    end << "x";
    end.close();
    CHECK(take_duplicates(captures, 1'000'000).empty());
    fs::create_hard_link(captures[0].path, folder / "d.ser");
    captures.push_back(captures[0]);
    captures.back().path = folder.file("d.ser");
    const auto link = take_duplicates(captures, 0);
    REQUIRE(link.size() == 1);
    CHECK(link[0].is_sure);
    CHECK(link[0].path == folder.file("d.ser"));
  }

  TEST_CASE("what may be a copy is compared to the last byte before it is left out") {
    const TemporaryFolder folder;
    const NightFolder place(folder / "out");
    const std::string first = small_capture(folder);
    const std::string twin = folder.file("in/twin.mkv");
    fs::copy_file(first, twin);
    NightJob job = job_of("twin", twin, place);
    job.copy_of = first;
    const JobResult skipped = done(job, place);
    CHECK(skipped.fate == Fate::skipped);
    CHECK(left_out_of(skipped.record).text() == twin + ": the same bytes as " + first);
    CHECK_FALSE(fs::exists(place.picture("twin")));
    CHECK(done(job, place).fate == Fate::skipped);
    std::fstream end(twin, std::ios::binary | std::ios::in | std::ios::out | std::ios::ate);
    end.seekp(-1, std::ios::end);
    end << '\x5A';
    end.close();
    CHECK(done(job, place).fate == Fate::made);
    CHECK(done(job, place).fate == Fate::there_already);
    // One whose twin is gone is none.
    fs::copy_file(first, folder / "in/other.mkv");
    NightJob alone = job_of("other", folder.file("in/other.mkv"), place);
    alone.copy_of = folder.file("in/gone.mkv");
    CHECK(done(alone, place).fate == Fate::made);
  }

  TEST_CASE("a sequence is known by its names, lengths and pictures") {
    const TemporaryFolder folder;
    for (int i = 0; i < 3; ++i) write(folder.file("s_" + std::to_string(i) + ".png"), "abc");
    const std::string first = input_fingerprint(folder.file("s_%d.png"));
    CHECK(input_fingerprint(folder.file("s_%d.png")) == first);
    write(folder.file("s_1.png"), "abd");
    CHECK(input_fingerprint(folder.file("s_%d.png")) != first);
    CHECK_THROWS_AS(static_cast<void>(input_fingerprint(folder.file("none.ser"))), InputError);
  }
}

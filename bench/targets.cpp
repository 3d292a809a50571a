#include <fmt/format.h>

#include <filesystem>
#include <functional>
#include <stdexcept>

#include "bench.h"
#include "child_run.h"

namespace lull::bench {

namespace {

constexpr double kMost = 1e9;  // no target

using Command = std::vector<std::string>;
using Measure = std::function<double(const Finished&)>;

double on_the_clock(const Finished& run) { return run.seconds; }

double of_the_processor(const Finished& run) { return run.processor_s; }

// Median of a command's measure over that of another, by turns.
double ratio(const Settings& settings, const Command& command, const Command& reference,
             const Measure& measure) {
  const std::size_t rounds = settings.smoke ? 1 : 5;
  std::vector<double> here;
  std::vector<double> there;
  while (here.size() < rounds) {
    there.push_back(measure(run(reference)));
    here.push_back(measure(run(command)));
  }
  return timing(std::move(here)).median_s / timing(std::move(there)).median_s;
}

void print(const std::string& name, double reached, const char* unit, double target) {
  fmt::print("  {:<44} {:>7.3g} {:<11}", name, reached, unit);
  if (target < kMost) fmt::print(" target {:g}{}", target, reached <= target ? "" : ", missed");
  fmt::print("\n");
}

Command decode(const std::string& clip) { return {"ffmpeg", "-i", clip, "-f", "null", "-"}; }

Command with_threads(Command command, const char* count) {
  command.insert(command.end(), {"--threads", count});
  return command;
}

// Multiples of decoding.
struct Multiples {
  double ranking = 0;
  double best_part = 0;
  double whole_run = kMost;
};

void run_clip(const Settings& settings, const std::string& clip, const Multiples& targets) {
  write_clip(clip, settings.smoke ? 40 : 1000);
  const std::string name = std::filesystem::path(clip).filename().string();
  const auto against_decoding = [&](const char* what, const Command& command, double target) {
    print(fmt::format("{}, {}", what, name), ratio(settings, command, decode(clip), on_the_clock),
          "x decoding", target);
  };
  against_decoding("rank", rank_command(clip), targets.ranking);
  against_decoding("stack --keep 15% --finish none", stack_command(settings, clip),
                   targets.best_part);
  if (targets.whole_run < kMost)
    against_decoding("stack", whole_command(settings, clip), targets.whole_run);
}

// Amdahl: with a share s in one thread, two threads take s + (1 - s) / 2 of the time of one.
void run_threads(const Settings& settings, const std::string& clip) {
  const Command command = whole_command(settings, clip);
  const double two =
      ratio(settings, with_threads(command, "2"), with_threads(command, "1"), on_the_clock);
  print("stack: share that runs in one thread", 100 * (2 * two - 1), "%", 1);
}

void run_start(const Settings& settings) {
  const std::string clip = settings.folder + "/ten.avi";
  write_clip(clip, 10);
  std::vector<double> version;
  std::vector<double> rank;
  while (rank.size() < 5) {
    version.push_back(1000 * run({LULL_PROGRAM, "--version"}).seconds);
    rank.push_back(1000 * run(rank_command(clip)).seconds);
  }
  print("lull --version", timing(std::move(version)).median_s, "ms", 20);
  print("rank of 10 frames", timing(std::move(rank)).median_s, "ms", 60);
}

// One run: a minute.
void run_large(const Settings& settings) {
  const std::string clip = settings.folder + "/large.avi";
  write_clip(clip, settings.smoke ? 8 : 2000, {1920, 1080});
  const double decoding = run(decode(clip)).seconds;
  const Finished whole = run(whole_command(settings, clip));
  print("stack, frames of 1920 x 1080, once", whole.seconds, "s", 60);
  print("", whole.seconds / decoding, "x decoding", kMost);
  print("", whole.peak_mib, "MiB", kMost);
  std::filesystem::remove(clip);
}

// Twice what was measured: the processor time of both grows alike on a busy machine.
constexpr double kMostOverRank = 60;
constexpr int kGuardFrames = 200;

}  // namespace

void run_guard(const Settings& settings) {
  const std::string clip = settings.folder + "/raw.avi";
  write_clip(clip, kGuardFrames);
  const double rank = of_the_processor(run(rank_command(clip)));
  const double whole = of_the_processor(run(whole_command(settings, clip)));
  fmt::print("stack takes {:.1f} times the processor time of rank, {} frames; at most {:g}\n",
             whole / rank, kGuardFrames, kMostOverRank);
  if (whole > kMostOverRank * rank) throw std::runtime_error("stack is far slower than it was");
}

void run_targets(const Settings& settings) {
  fmt::print("Targets, by turns, medians of five; two threads\n");
  const std::string raw = settings.folder + "/raw.avi";
  const std::string ffv1 = settings.folder + "/ffv1.mkv";
  run_clip(settings, raw, {2.5, 15, 25});
  run_clip(settings, ffv1, {1.08, 1.5});
  print("inspect, raw.avi",
        ratio(settings, {LULL_PROGRAM, "inspect", raw, "--quiet"}, rank_command(raw),
              of_the_processor),
        "x rank", 1.5);
  run_threads(settings, raw);
  run_start(settings);
  print("rank: memory", run(rank_command(raw)).peak_mib, "MiB", 400);
  for (const auto& clip : {raw, ffv1}) std::filesystem::remove(clip);
  run_large(settings);
}

}  // namespace lull::bench

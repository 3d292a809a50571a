#include <fmt/format.h>

#include <filesystem>
#include <utility>

#include "bench.h"
#include "child_run.h"

namespace lull::bench {

namespace {

Timing time_of(const Settings& settings, const std::vector<std::string>& words) {
  const std::size_t runs = settings.smoke ? 1 : 5;
  std::vector<double> seconds;
  seconds.reserve(runs);
  while (seconds.size() < runs) seconds.push_back(run(words).seconds);
  return timing(std::move(seconds));
}

}  // namespace

std::vector<std::string> rank_command(const std::string& clip) {
  return {LULL_PROGRAM, "rank", clip, "--quiet"};
}

std::vector<std::string> stack_command(const Settings& settings, const std::string& clip) {
  return {LULL_PROGRAM, "stack", clip,       "-o",   settings.folder + "/out.tif",
          "--keep",     "15%",   "--finish", "none", "--quiet"};
}

std::vector<std::string> whole_command(const Settings& settings, const std::string& clip) {
  return {LULL_PROGRAM, "stack", clip, "-o", settings.folder + "/out.tif", "--quiet"};
}

namespace {

// The same by selection and without the page.
std::vector<std::string> plain_stack_command(const Settings& settings, const std::string& clip) {
  std::vector<std::string> command = stack_command(settings, clip);
  for (const char* word : {"--fusion", "selection", "--report", "none"}) command.emplace_back(word);
  return command;
}

}  // namespace

void run_programs(const Settings& settings) {
  const int frames = settings.smoke ? 40 : 1000;
  fmt::print("\nPrograms on {} frames of 640 x 480, 8 bit; times decoding alone (ffmpeg -f null)\n",
             frames);
  for (const std::string name : {"raw.avi", "ffv1.mkv"}) {
    const std::string clip = settings.folder + "/" + name;
    write_clip(clip, frames);
    const Timing decode = time_of(settings, {"ffmpeg", "-i", clip, "-f", "null", "-"});
    const Timing rank = time_of(settings, rank_command(clip));
    const Timing stack = time_of(settings, stack_command(settings, clip));
    const Timing plain = time_of(settings, plain_stack_command(settings, clip));
    fmt::print(
        "  {:<9} decoding {:.3f} s (spread {:.0f}%)  rank {:.2f}x ({:.0f}%)  "
        "stack --keep 15% --finish none {:.2f}x ({:.0f}%), by selection and without report "
        "{:.2f}x\n",
        name, decode.median_s, 100 * decode.spread, rank.median_s / decode.median_s,
        100 * rank.spread, stack.median_s / decode.median_s, 100 * stack.spread,
        plain.median_s / decode.median_s);
    std::filesystem::remove(clip);
  }
}

void run_against(const Settings& settings) {
  const int frames = settings.smoke ? 12 : 500;
  const int rounds = settings.smoke ? 1 : 5;
  fmt::print("This build against {}, by turns, {} frames of 640 x 480, 8 bit\n", settings.against,
             frames);
  const std::string clip = settings.folder + "/raw.avi";
  write_clip(clip, frames);
  const std::vector<std::pair<const char*, std::vector<std::string>>> commands = {
      {"rank", rank_command(clip)},
      {"stack --keep 15%", stack_command(settings, clip)},
      {"stack by selection", plain_stack_command(settings, clip)},
      {"stack, default", whole_command(settings, clip)}};
  for (const auto& [name, command] : commands) {
    std::vector<std::string> base = command;
    base[0] = settings.against;
    std::vector<double> here;
    std::vector<double> there;
    for (int round = 0; round < rounds; ++round) {
      there.push_back(run(base).seconds);
      here.push_back(run(command).seconds);
    }
    const Timing head = timing(std::move(here));
    const Timing other = timing(std::move(there));
    fmt::print("  {:<20} {:.3f} x  (here {:.3f} s, spread {:.0f}%; there {:.3f} s, {:.0f}%)\n",
               name, head.median_s / other.median_s, head.median_s, 100 * head.spread,
               other.median_s, 100 * other.spread);
  }
}

void run_memory(const Settings& settings) {
  fmt::print("Peak memory with --memory 512M, 640 x 480, 8 bit, raw\n");
  for (const int frames : {1000, 10000}) {
    const std::string clip = settings.folder + "/memory.avi";
    write_clip(clip, frames);
    auto with_limit = [](std::vector<std::string> words) {
      words.insert(words.end(), {"--memory", "512M"});
      return words;
    };
    fmt::print("  {:>6} frames: rank {:.0f} MiB, stack {:.0f} MiB\n", frames,
               run(with_limit(rank_command(clip))).peak_mib,
               run(with_limit(stack_command(settings, clip))).peak_mib);
    std::filesystem::remove(clip);
  }
}

}  // namespace lull::bench

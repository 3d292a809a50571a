#pragma once

#include <string>
#include <vector>

#include "core/geometry.h"

namespace lull::bench {

struct Settings {
  bool smoke = false;    ///< one short round of everything
  bool targets = false;  ///< whole runs against what was asked of them
  bool memory = false;   ///< peak memory of 1,000 and 10,000 frames, instead of times
  std::string folder;    ///< for the clips
  std::string against;   ///< another build of lull to compare with, empty = none
};

struct Timing {
  double median_s = 0;
  double spread = 0;  ///< (largest - smallest) / median
};

[[nodiscard]] Timing timing(std::vector<double> seconds);

/// Sharpness kernels against OpenCV on one thread, 640 x 480, in cache.
void run_kernels(const Settings& settings);

/// rank and stack against decoding alone.
void run_programs(const Settings& settings);

/// Whole runs of this build and of Settings::against by turns: the ratio of their medians, and the
/// spread of each.
void run_against(const Settings& settings);

/// Peak memory of rank and stack for captures of two lengths.
void run_memory(const Settings& settings);

/// Whole runs against their targets: ratios to decoding, start, threads and memory.
void run_targets(const Settings& settings);

[[nodiscard]] std::vector<std::string> rank_command(const std::string& clip);

/// The best 15%, without restoration.
[[nodiscard]] std::vector<std::string> stack_command(const Settings& settings,
                                                     const std::string& clip);

/// With every default.
[[nodiscard]] std::vector<std::string> whole_command(const Settings& settings,
                                                     const std::string& clip);

/// Writes a capture of 8 bit: the sample, mirrored beyond its edges, over and over with fresh
/// noise. Raw AVI, or FFV1 in Matroska when the name ends in .mkv. Through the ffmpeg
/// program.
void write_clip(const std::string& path, int frames, Size size = {640, 480});

}  // namespace lull::bench

#pragma once

#include <cstdint>
#include <string>
#include <vector>

#include "app/finish_options.h"
#include "app/opening.h"
#include "app/optics_options.h"
#include "core/progress.h"

namespace lull::app {

struct InspectOptions {
  InputOptions input;
  std::string plot;  ///< SVG file, empty = none
  OpticsOptions optics;
  std::string object = "auto";  ///< what was recorded: auto, sun, moon, planet or star
};

/// `lull inspect`: what the capture is, and whether it is healthy. Prints to standard output.
void inspect(const InspectOptions& options, const Progress& progress);

struct RankOptions {
  InputOptions input;
  std::string csv;        ///< file for the table, empty = none
  std::string sorted;     ///< file for the sorted video, empty = none
  std::int64_t best = 0;  ///< only so many frames in the video, 0 = all
};

/// `lull rank`: sharpness of every frame.
void rank(const RankOptions& options, const Progress& progress);

struct MetricsOptions {
  InputOptions input;
  std::string truth;  ///< table of true Strehl ratios, or the truth it stands beside; empty = none
  std::string csv;    ///< file for the table, empty = none
  std::string plot;   ///< SVG file, empty = none
};

/// `lull metrics`: how well each sharpness measure ranks a capture.
void metrics(const MetricsOptions& options, const Progress& progress);

struct StackCommandOptions {
  InputOptions input;
  std::string output;
  std::string keep = "auto";
  std::string patch = "auto";
  std::string frame = "covered";    ///< covered or whole
  std::string finish = "auto";      ///< auto or none
  std::string dispersion = "auto";  ///< auto or off
  std::string fusion = "auto";      ///< auto, frequency or selection
  std::string scale = "1";          ///< 1, 1.5, 2 or 3
  std::string pixfrac = "auto";     ///< auto or a number
  FinishOptions look;
  OpticsOptions optics;
  std::string object = "auto";  ///< as of InspectOptions
  std::string report = "auto";  ///< auto, none or a file
  std::string recipe;           ///< a recipe to repeat, empty = none
};

/// `lull stack`: the main job.
void stack(const StackCommandOptions& options, const Progress& progress);

struct FinishCommandOptions {
  std::string input;
  std::string output;
  FinishOptions look;
  std::string recipe;  ///< a recipe whose finish to repeat, empty = none
  int threads = 0;
  bool json = false;
  bool quiet = false;
};

/// `lull finish`: detail and colour on an existing stack.
void finish_stack(const FinishCommandOptions& options, const Progress& progress);

struct MasterCommandOptions {
  std::vector<std::string> inputs;  ///< captures, pictures, folders of these
  std::string kind;                 ///< dark or flat
  std::string flat_dark;            ///< of a flat; empty = none
  std::string output;
  int threads = 0;
  bool json = false;
  bool quiet = false;
};

/// `lull master`: dark or flat frames combined into one file, and what they tell of the camera.
void master(const MasterCommandOptions& options, const Progress& progress);

}  // namespace lull::app

#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <utility>
#include <variant>
#include <vector>

#include "core/geometry.h"
#include "stack/illustration.h"

namespace lull::report {

/// Values over one list of x values; those that are not finite are left out.
struct Plot {
  struct Series {
    std::string name;
    std::string mark;  ///< line, dashed, dotted, dots, rings, points (joined), steps or area
    int colour = 1;    ///< 1 to 4, as the page's style has them
    std::vector<double> ys;
    bool right = false;  ///< on a second axis
  };

  /// A line at one x value.
  struct Mark {
    double at = 0;
    std::string name;
  };

  std::string x_label;
  std::string y_label;
  std::string right_label{};
  bool log_y = false;
  std::vector<double> xs;  ///< rising
  std::vector<Series> series;
  std::vector<Mark> marks{};
};

/// The path of the object over the frame.
struct Track {
  std::vector<Displacement> points;  ///< px, in order of the capture
};

/// Displacement of regions, frame by frame.
struct Arrows {
  Size picture;
  std::vector<Displacement> places;
  std::vector<stack::Illustration::Movement> frames;
};

/// Values on equal squares over the picture, row by row, as shades.
struct Map {
  int columns = 0;
  int rows = 0;
  int square_px = 0;  ///< side; the last column and row may reach past the picture
  std::vector<float> values;
  double low = 0;  ///< value of the lightest shade
  double high = 1;
  std::string unit;
};

struct Chart {
  std::string id;  ///< letters; names it in the page
  std::string title;
  std::string reading;      ///< what it shows and what to look at
  std::string alternative;  ///< what someone who cannot see it should know, with figures
  std::variant<Plot, Track, Arrows, Map> drawing;
};

/// For the page's scripts.
[[nodiscard]] nlohmann::json to_json(const Chart& chart);

}  // namespace lull::report

#pragma once

#include <cstddef>
#include <nlohmann/json_fwd.hpp>
#include <string>
#include <variant>
#include <vector>

#include "core/geometry.h"
#include "draw/plot.h"
#include "stack/illustration.h"

namespace lull::report {

/// The path of the object over the frame.
struct Track {
  std::string title;
  std::vector<Displacement> points;  ///< px, in order of the capture
};

/// Displacement of regions, frame by frame.
struct Arrows {
  std::string title;
  Size picture;
  std::vector<Displacement> places;
  std::vector<stack::Illustration::Movement> frames;
};

/// Values on equal squares over the picture, row by row, as shades.
struct Map {
  std::string title;
  int columns = 0;
  int rows = 0;
  int square_px = 0;  ///< side; the last column and row may reach past the picture
  std::vector<float> values;
  double low = 0;  ///< value of the lightest shade
  double high = 1;
  std::string unit;
};

/// A drawing with its words. All drawings have titles.
struct Chart {
  std::string id;           ///< letters; names it in the page
  std::string reading;      ///< what it shows and what to look at
  std::string alternative;  ///< what someone who cannot see it should know, with figures
  std::variant<draw::Plot, Track, Arrows, Map> drawing;

  [[nodiscard]] const std::string& title() const;
};

/// The variable of the page's style (look.css) that has the colour of a series.
[[nodiscard]] std::string colour_variable(const draw::Plot& plot, std::size_t series);

/// For the page's scripts.
[[nodiscard]] nlohmann::json to_json(const Chart& chart);

}  // namespace lull::report

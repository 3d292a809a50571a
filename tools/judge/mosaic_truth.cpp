#include "judge/mosaic_truth.h"

#include <fmt/format.h>

#include <algorithm>
#include <fstream>
#include <nlohmann/json.hpp>

#include "core/error.h"
#include "files/picture_file.h"

namespace lull::judge {

namespace {

// All around a grid of places: its first row, last column, last row and first column.
std::vector<Displacement> border_of(const nlohmann::json& grid) {
  const std::size_t columns = grid.at("columns_px").size();
  const std::size_t rows = grid.at("rows_px").size();
  const auto x = grid.at("x").get<std::vector<double>>();
  const auto y = grid.at("y").get<std::vector<double>>();
  if (columns < 2 || rows < 2 || x.size() != columns * rows || y.size() != x.size())
    throw std::out_of_range("a grid has not as many places as nodes");
  std::vector<Displacement> border;
  border.reserve(2 * (columns + rows));
  const auto add = [&](std::size_t column, std::size_t row) {
    border.push_back({x[row * columns + column], y[row * columns + column]});
  };
  for (std::size_t i = 0; i + 1 < columns; ++i) add(i, 0);
  for (std::size_t i = 0; i + 1 < rows; ++i) add(columns - 1, i);
  for (std::size_t i = columns - 1; i > 0; --i) add(i, rows - 1);
  for (std::size_t i = rows - 1; i > 0; --i) add(0, i);
  return border;
}

// Whether a ray to the right crosses the border an odd number of times.
bool lies_inside(const std::vector<Displacement>& border, double x, double y) {
  bool inside = false;
  for (std::size_t i = 0; i < border.size(); ++i) {
    const Displacement& a = border[i];
    const Displacement& b = border[(i + 1) % border.size()];
    if ((a.y_px > y) == (b.y_px > y)) continue;
    if (x < a.x_px + (y - a.y_px) / (b.y_px - a.y_px) * (b.x_px - a.x_px)) inside = !inside;
  }
  return inside;
}

}  // namespace

bool MosaicTruth::shown(double x, double y) const {
  return std::any_of(panels.begin(), panels.end(),
                     [=](const Panel& panel) { return lies_inside(panel.border, x, y); });
}

MosaicTruth read_mosaic_truth(const std::filesystem::path& folder) {
  const std::filesystem::path path = folder / "truth.json";
  std::ifstream file(path);
  if (!file) {
    throw InputError(fmt::format(
        "'{}' cannot be read: give the folder into which lull-sim mosaic wrote", path.string()));
  }
  MosaicTruth truth;
  std::string picture;
  try {
    const nlohmann::json json = nlohmann::json::parse(file);
    picture = json.at("picture").get<std::string>();
    for (const nlohmann::json& panel : json.at("panels"))
      truth.panels.push_back({panel.at("file").get<std::string>(), border_of(panel.at("grid"))});
  } catch (const std::exception& error) {
    throw InputError(fmt::format("'{}' is not the truth of a mosaic, or damaged: {}", path.string(),
                                 error.what()));
  }
  if (truth.panels.empty()) throw InputError(fmt::format("'{}' has no panels", path.string()));
  auto channels = files::read_picture(folder / picture).picture.channels;
  truth.picture = std::move(channels.front());
  return truth;
}

}  // namespace lull::judge

#include "lab/truth_read.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <array>
#include <charconv>
#include <fstream>
#include <map>
#include <sstream>

#include "core/error.h"
#include "files/fits_pointer.h"

namespace lull::lab {

namespace {

namespace fs = std::filesystem;

std::vector<std::string> cells(std::string line) {
  if (line.ends_with('\r')) line.pop_back();
  std::vector<std::string> out;
  std::stringstream text(line);
  for (std::string cell; std::getline(text, cell, ',');) out.push_back(cell);
  if (line.ends_with(',')) out.emplace_back();
  return out;
}

double number(const std::string& text, const fs::path& path) {
  double value = 0;
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end) {
    throw InputError(fmt::format("{}: '{}' is not a number", path.string(), text));
  }
  return value;
}

}  // namespace

std::vector<FrameTruth> read_frame_table(const fs::path& truth) {
  std::string name = truth.string();
  const auto end = name.rfind(".truth.fits");
  if (end == std::string::npos) {
    throw InputError(fmt::format("{}: a truth is named NAME.truth.fits", truth.string()));
  }
  const fs::path path = name.substr(0, end) + ".frames.csv";
  std::ifstream file(path);
  std::string line;
  if (!file || !std::getline(file, line)) {
    throw InputError(fmt::format("{}: the table of frames cannot be read", path.string()));
  }
  std::map<std::string, std::size_t> columns;
  for (const std::string& cell : cells(line)) columns.emplace(cell, columns.size());
  for (const char* wanted : {"shift_x_px", "shift_y_px", "strehl_tilt_removed", "fault"}) {
    if (!columns.contains(wanted)) {
      throw InputError(fmt::format("{}: there is no column {}", path.string(), wanted));
    }
  }
  std::vector<FrameTruth> frames;
  while (std::getline(file, line)) {
    const auto row = cells(line);
    if (row.size() != columns.size()) {
      throw InputError(fmt::format("{}: row {} has {} cells, not {}", path.string(), frames.size(),
                                   row.size(), columns.size()));
    }
    const auto value = [&](const char* column) { return number(row[columns.at(column)], path); };
    FrameTruth frame;
    frame.shift = {value("shift_x_px"), value("shift_y_px")};
    frame.strehl_tilt_removed = value("strehl_tilt_removed");
    frame.fault = row[columns.at("fault")];
    frames.push_back(frame);
  }
  return frames;
}

std::vector<NodeField> read_fields(const fs::path& truth) {
  const auto fail = [&](const char* what) -> InputError {
    return InputError(fmt::format("{}: {}", truth.string(), what));
  };
  const files::FitsPointer file = files::open_fits(truth);
  int status = 0;
  std::array<long, 4> axes{};
  int count = 0;
  double first_x = 0;
  double step = 0;
  std::string name = "SHIFT_FIELD";
  fits_movnam_hdu(file.get(), IMAGE_HDU, name.data(), 0, &status);
  fits_get_img_dim(file.get(), &count, &status);
  fits_get_img_size(file.get(), 4, axes.data(), &status);
  fits_read_key_dbl(file.get(), "GX0", &first_x, nullptr, &status);
  fits_read_key_dbl(file.get(), "GSTEP", &step, nullptr, &status);
  if (status != 0 || count != 4 || axes[2] != 2) throw fail("it has no image SHIFT_FIELD");
  if (first_x != -NodeField::kRim || step != NodeField::kStep)
    throw fail("the nodes of its shift field are not where the lab puts them");
  std::vector<NodeField> fields(static_cast<std::size_t>(axes[3]));
  LONGLONG next = 1;
  const auto nodes = LONGLONG{axes[0]} * axes[1];
  for (NodeField& field : fields) {
    field.columns = static_cast<int>(axes[0]);
    field.rows = static_cast<int>(axes[1]);
    for (auto* part : {&field.x, &field.y}) {
      part->resize(static_cast<std::size_t>(nodes));
      fits_read_img(file.get(), TFLOAT, next, nodes, nullptr, part->data(), nullptr, &status);
      next += nodes;
    }
  }
  if (status != 0) throw fail("its shift fields cannot be read");
  return fields;
}

}  // namespace lull::lab

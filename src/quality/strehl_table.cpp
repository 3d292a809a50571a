#include "quality/strehl_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <cerrno>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <fstream>
#include <limits>
#include <optional>

#include "core/error.h"
#include "files/failure.h"

namespace lull::quality {

namespace {

namespace fs = std::filesystem;

constexpr std::string_view kTruthEnding = ".truth.fits";
constexpr std::string_view kBestColumn = "strehl_tilt_removed";
constexpr double kEmpty = std::numeric_limits<double>::quiet_NaN();

// The fields of a line without their quotes (RFC 4180, section 2, points 5 to 7, but line breaks
// within a field, which no number has).
std::vector<std::string> fields_of(std::string line) {
  if (!line.empty() && line.back() == '\r') line.pop_back();
  std::vector<std::string> fields(1);
  bool quoted = false;
  for (std::size_t i = 0; i < line.size(); ++i) {
    const bool doubled = quoted && line[i] == '"' && i + 1 < line.size() && line[i + 1] == '"';
    if (doubled) {
      fields.back() += line[i++];
    } else if (line[i] == '"') {
      quoted = !quoted;
    } else if (line[i] == ',' && !quoted) {
      fields.emplace_back();
    } else {
      fields.back() += line[i];
    }
  }
  return fields;
}

template <class T>
std::optional<T> number_of(const std::string& text) {
  T value{};
  const char* end = text.data() + text.size();
  const auto [stop, error] = std::from_chars(text.data(), end, value);
  if (error != std::errc() || stop != end) return std::nullopt;
  return value;
}

class TableReader {
 public:
  explicit TableReader(const std::string& path) : path_(path) {}

  StrehlTable read() {
    std::ifstream file = open();
    std::string line;
    if (!std::getline(file, line)) {
      throw InputError(fmt::format("{}: the table of the truth is empty", path_));
    }
    read_header(line);
    for (line_number_ = 2; std::getline(file, line); ++line_number_) {
      if (!line.empty() && line != "\r") add_row(fields_of(line));
    }
    return in_order();
  }

 private:
  struct Row {
    std::int64_t frame;
    double strehl;
    std::int64_t line;
  };

  std::ifstream open() const {
    std::error_code ignored;
    errno = 0;
    std::ifstream file(path_, std::ios::binary);
    const int error_number = errno;
    const bool folder = fs::is_directory(path_, ignored);
    if (file && fs::is_regular_file(path_, ignored)) return file;
    throw InputError(fmt::format("{}: the table of the truth cannot be read: {}", path_,
                                 files::read_failure(folder ? EISDIR : error_number)));
  }

  void read_header(const std::string& line) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    const bool marked = line.starts_with(kByteOrderMark);
    const auto names = fields_of(line.substr(marked ? kByteOrderMark.size() : 0));
    const auto frame = std::find(names.begin(), names.end(), "frame");
    auto strehl = std::find(names.begin(), names.end(), kBestColumn);
    if (strehl == names.end()) {
      strehl = std::find_if(names.begin(), names.end(),
                            [](const std::string& name) { return name.starts_with("strehl"); });
    }
    if (frame == names.end() || strehl == names.end()) {
      throw InputError(fmt::format(
          "{}: the truth has no column '{}'. Give a CSV file whose first line names the columns "
          "'frame' and 'strehl...'.",
          path_, frame == names.end() ? "frame" : "strehl..."));
    }
    frame_field_ = static_cast<std::size_t>(frame - names.begin());
    strehl_field_ = static_cast<std::size_t>(strehl - names.begin());
    column_ = *strehl;
  }

  void add_row(const std::vector<std::string>& fields) {
    if (fields.size() <= std::max(frame_field_, strehl_field_)) {
      throw InputError(fmt::format("{}: line {} is cut short: it has {} fields", path_,
                                   line_number_, fields.size()));
    }
    const auto frame = number_of<std::int64_t>(fields[frame_field_]);
    if (!frame) {
      throw InputError(fmt::format("{}: line {}: '{}' is not the number of a frame", path_,
                                   line_number_, fields[frame_field_]));
    }
    rows_.push_back({*frame, strehl_of(fields[strehl_field_]), line_number_});
  }

  double strehl_of(const std::string& text) const {
    if (text.empty()) return kEmpty;
    const auto value = number_of<double>(text);
    if (value && *value >= 0 && *value <= 1) return *value;
    throw InputError(fmt::format("{}: line {}: '{}' in column {} is not a number from 0 to 1",
                                 path_, line_number_, text, column_));
  }

  StrehlTable in_order() const {
    StrehlTable table{path_, column_, std::vector<double>(rows_.size(), kEmpty)};
    if (rows_.empty()) throw InputError(fmt::format("{}: the truth lists no frame", path_));
    std::vector<bool> seen(rows_.size(), false);
    for (const Row& row : rows_) {
      if (row.frame < 0 || row.frame >= static_cast<std::int64_t>(rows_.size())) {
        throw InputError(fmt::format(
            "{}: line {}: frame {} is out of range: {} rows list frames 0 to {}, one row each",
            path_, row.line, row.frame, rows_.size(), rows_.size() - 1));
      }
      const auto at = static_cast<std::size_t>(row.frame);
      if (seen[at]) {
        throw InputError(
            fmt::format("{}: line {}: frame {} has a row already", path_, row.line, row.frame));
      }
      seen[at] = true;
      table.strehl[at] = row.strehl;
    }
    return table;
  }

  const std::string& path_;
  std::int64_t line_number_ = 1;
  std::size_t frame_field_ = 0;
  std::size_t strehl_field_ = 0;
  std::string column_;
  std::vector<Row> rows_;
};

}  // namespace

std::string strehl_table_path(const std::string& truth) {
  if (!truth.ends_with(kTruthEnding)) return truth;
  return truth.substr(0, truth.size() - kTruthEnding.size()) + ".frames.csv";
}

StrehlTable read_strehl_table(const std::string& path) { return TableReader(path).read(); }

}  // namespace lull::quality

#include "quality/frame_table.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <cmath>
#include <cstdint>
#include <filesystem>
#include <limits>
#include <optional>
#include <sstream>

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

// What a table tells of each frame.
struct Subject {
  const char* noun;        ///< in messages: "the truth"
  const char* prefix;      ///< of the columns to read
  std::string_view first;  ///< the column that is taken before others; empty: all with the prefix
  double low = 0;
  double high = 0;
  const char* range;  ///< in messages
};

constexpr Subject kTruth = {"the truth", "strehl", kBestColumn, 0, 1, "a number from 0 to 1"};
constexpr Subject kScores = {"the table of scores",
                             "score",
                             "",
                             std::numeric_limits<double>::lowest(),
                             std::numeric_limits<double>::max(),
                             "a finite number"};

constexpr std::size_t kMostBytes = std::size_t{1} << 30U;

class TableReader {
 public:
  TableReader(const std::string& path, const Subject& subject) : path_(path), subject_(subject) {}

  // One list of values for each column, by frame.
  FrameTable read() {
    std::istringstream file = open();
    std::string line;
    if (!std::getline(file, line))
      throw InputError(fmt::format("{}: {} is empty", path_, subject_.noun));
    read_header(line);
    for (line_number_ = 2; std::getline(file, line); ++line_number_) {
      if (!line.empty() && line != "\r") add_row(fields_of(line));
    }
    return in_order();
  }

 private:
  struct Row {
    std::int64_t frame;
    std::vector<double> values;
    std::int64_t line;
  };

  std::istringstream open() const {
    const std::string why = files::why_unreadable(path_);
    if (why.empty()) return std::istringstream(files::first_bytes(path_, kMostBytes));
    throw InputError(fmt::format("{}: {} cannot be read: {}", path_, subject_.noun, why));
  }

  void read_header(const std::string& line) {
    constexpr std::string_view kByteOrderMark = "\xEF\xBB\xBF";
    const bool marked = line.starts_with(kByteOrderMark);
    const auto names = fields_of(line.substr(marked ? kByteOrderMark.size() : 0));
    const auto frame = std::find(names.begin(), names.end(), "frame");
    std::vector<std::size_t> found;
    for (std::size_t i = 0; i < names.size(); ++i) {
      if (names[i].starts_with(subject_.prefix)) found.push_back(i);
    }
    if (const auto best = std::find(names.begin(), names.end(), subject_.first);
        !subject_.first.empty() && best != names.end())
      found = {static_cast<std::size_t>(best - names.begin())};
    if (frame == names.end() || found.empty()) {
      throw InputError(fmt::format(
          "{}: {} has no column '{}'. Give a CSV file whose first line names the columns 'frame' "
          "and '{}...'.",
          path_, subject_.noun,
          frame == names.end() ? std::string("frame") : fmt::format("{}...", subject_.prefix),
          subject_.prefix));
    }
    if (!subject_.first.empty()) found.resize(1);
    frame_field_ = static_cast<std::size_t>(frame - names.begin());
    fields_ = std::move(found);
    for (const std::size_t field : fields_) columns_.push_back(names[field]);
  }

  void add_row(const std::vector<std::string>& fields) {
    if (fields.size() <= std::max(frame_field_, fields_.back())) {
      throw InputError(fmt::format("{}: line {} is cut short: it has {} fields", path_,
                                   line_number_, fields.size()));
    }
    const auto frame = number_of<std::int64_t>(fields[frame_field_]);
    if (!frame) {
      throw InputError(fmt::format("{}: line {}: '{}' is not the number of a frame", path_,
                                   line_number_, fields[frame_field_]));
    }
    Row row{*frame, {}, line_number_};
    for (std::size_t c = 0; c < fields_.size(); ++c)
      row.values.push_back(value_of(fields[fields_[c]], columns_[c]));
    rows_.push_back(std::move(row));
  }

  double value_of(const std::string& text, const std::string& column) const {
    if (text.empty()) return kEmpty;
    const auto value = number_of<double>(text);
    if (value && *value >= subject_.low && *value <= subject_.high) return *value;
    throw InputError(fmt::format("{}: line {}: '{}' in column {} is not {}", path_, line_number_,
                                 text, column, subject_.range));
  }

  FrameTable in_order() const {
    if (rows_.empty()) throw InputError(fmt::format("{}: {} lists no frame", path_, subject_.noun));
    FrameTable table{path_, {}};
    for (const std::string& column : columns_)
      table.columns.push_back({column, std::vector<double>(rows_.size(), kEmpty)});
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
      for (std::size_t c = 0; c < columns_.size(); ++c) table.columns[c].values[at] = row.values[c];
    }
    return table;
  }

  const std::string& path_;
  const Subject& subject_;
  std::int64_t line_number_ = 1;
  std::size_t frame_field_ = 0;
  std::vector<std::size_t> fields_;
  std::vector<std::string> columns_;
  std::vector<Row> rows_;
};

}  // namespace

std::string strehl_table_path(const std::string& truth) {
  if (!truth.ends_with(kTruthEnding)) return truth;
  return truth.substr(0, truth.size() - kTruthEnding.size()) + ".frames.csv";
}

FrameTable read_strehl_table(const std::string& path) { return TableReader(path, kTruth).read(); }

FrameTable read_score_table(const std::string& path) { return TableReader(path, kScores).read(); }

}  // namespace lull::quality

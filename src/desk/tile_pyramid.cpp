#include "desk/tile_pyramid.h"

#include <fcntl.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdlib>
#include <optional>
#include <utility>

#include "desk/problem.h"
#include "files/failure.h"
#include "files/read_bands.h"
#include "finish/levels.h"
#include "report/tone.h"
#include "run/reduction.h"

namespace lull::desk {

namespace {

int open_unnamed(const std::string& folder) {
  int file = ::open(folder.c_str(), O_TMPFILE | O_RDWR | O_CLOEXEC, 0600);
  if (file >= 0) return file;
  std::string path = folder + "/.tiles-XXXXXX";  // file systems that have no such files
  file = ::mkostemp(path.data(), O_CLOEXEC);
  if (file < 0) throw files::cannot_write(path, errno);
  ::unlink(path.c_str());
  return file;
}

void stop_if(const std::function<bool()>& is_gone) {
  if (is_gone && is_gone()) throw Problem(409, "nobody waits for this answer");
}

// Half of the width and the height; what is left at the edges counts twice.
files::Bitmap halved(const files::Bitmap& from) {
  files::Bitmap out;
  out.width_px = (from.width_px + 1) / 2;
  out.height_px = (from.height_px + 1) / 2;
  out.channels = from.channels;
  out.samples.reserve(static_cast<std::size_t>(out.width_px) *
                      static_cast<std::size_t>(out.height_px) *
                      static_cast<std::size_t>(out.channels));
  const auto at = [&](int x, int y, int c) {
    const auto px = static_cast<std::size_t>(std::min(y, from.height_px - 1)) *
                        static_cast<std::size_t>(from.width_px) +
                    static_cast<std::size_t>(std::min(x, from.width_px - 1));
    return unsigned{
        from.samples[px * static_cast<std::size_t>(from.channels) + static_cast<std::size_t>(c)]};
  };
  for (int y = 0; y < out.height_px; ++y) {
    for (int x = 0; x < out.width_px; ++x) {
      for (int c = 0; c < out.channels; ++c) {
        const unsigned sum = at(2 * x, 2 * y, c) + at(2 * x + 1, 2 * y, c) +
                             at(2 * x, 2 * y + 1, c) + at(2 * x + 1, 2 * y + 1, c);
        out.samples.push_back(static_cast<std::uint8_t>((sum + 2) / 4));
      }
    }
  }
  return out;
}

}  // namespace

// Takes rows of the whole picture. Each level hands rows of tiles, halved, to the one above it.
class TilePyramid::Builder {
 public:
  Builder(const TilePyramid& of, const std::string& folder)
      : of_(of), folder_(folder), waiting_(of.levels_.size()) {
    for (std::size_t i = 0; i < waiting_.size(); ++i) {
      waiting_[i].width_px = of.levels_[i].size.width_px;
      waiting_[i].channels = of.channels_;
    }
    next_row_.resize(waiting_.size());
  }

  void add(const files::Bitmap& rows) { add(waiting_.size() - 1, rows); }

  // The last row of tiles is mostly lower.
  void finish() {
    for (std::size_t level = waiting_.size(); level-- > 0;) write_row(level);
  }

 private:
  void add(std::size_t level, const files::Bitmap& rows) {
    files::Bitmap& waiting = waiting_[level];
    const auto pitch =
        static_cast<std::size_t>(rows.width_px) * static_cast<std::size_t>(rows.channels);
    for (int y = 0; y < rows.height_px; ++y) {
      const auto row = rows.samples.begin() + static_cast<std::ptrdiff_t>(pitch) * y;
      waiting.samples.insert(waiting.samples.end(), row, row + static_cast<std::ptrdiff_t>(pitch));
      if (++waiting.height_px == kTilePx) write_row(level);
    }
  }

  void write_row(std::size_t level) {
    files::Bitmap& rows = waiting_[level];
    if (rows.height_px == 0) return;
    for (int column = 0; column < of_.levels_[level].columns(); ++column)
      write_tile(level, column, rows);
    ++next_row_[level];
    if (level > 0) add(level - 1, halved(rows));
    rows.height_px = 0;
    rows.samples.clear();
  }

  void write_tile(std::size_t level, int column, const files::Bitmap& rows) {
    const auto channels = static_cast<std::size_t>(of_.channels_);
    const int x0 = column * kTilePx;
    const std::size_t width = static_cast<std::size_t>(std::min(kTilePx, rows.width_px - x0));
    tile_.assign(static_cast<std::size_t>(of_.tile_bytes()), 0);
    for (int y = 0; y < rows.height_px; ++y) {
      const auto from = (static_cast<std::size_t>(y) * static_cast<std::size_t>(rows.width_px) +
                         static_cast<std::size_t>(x0)) *
                        channels;
      std::copy_n(rows.samples.data() + from, width * channels,
                  tile_.data() + static_cast<std::size_t>(y) * kTilePx * channels);
    }
    const Level& at = of_.levels_[level];
    const std::int64_t number =
        at.first_tile + std::int64_t{next_row_[level]} * at.columns() + column;
    errno = 0;
    const ssize_t written =
        ::pwrite(of_.file_, tile_.data(), tile_.size(), number * of_.tile_bytes());
    if (written != static_cast<ssize_t>(tile_.size()))
      throw files::cannot_write(folder_ + "/(tiles of a picture that is looked at)", errno);
  }

  const TilePyramid& of_;
  const std::string& folder_;
  std::vector<files::Bitmap> waiting_;  ///< rows, by level
  std::vector<int> next_row_;           ///< of tiles, by level
  std::vector<std::uint8_t> tile_;
};

void TilePyramid::lay_out(Size picture) {
  std::int64_t first = 0;
  for (Size size = picture;; size = {(size.width_px + 1) / 2, (size.height_px + 1) / 2}) {
    levels_.push_back({size, first});
    first += std::int64_t{levels_.back().columns()} * levels_.back().rows();
    if (std::max(size.width_px, size.height_px) <= kTilePx) break;
  }
  std::reverse(levels_.begin(), levels_.end());
}

// Values that are proportional to light are read twice, at first for what is shown as black.
void TilePyramid::read(const std::string& picture, const std::string& folder,
                       const std::function<bool()>& is_gone) {
  std::optional<run::PixelSample> sample;
  std::optional<Builder> builder;
  files::read_bands(picture, {[&](const files::StoredFacts& facts) {
                                channels_ = static_cast<int>(facts.channels);
                                lay_out(facts.size);
                                if (facts.stretched)
                                  builder.emplace(*this, folder);
                                else
                                  sample.emplace(facts.size, facts.channels);
                              },
                              [&](const files::PictureView& band, int y0) {
                                stop_if(is_gone);
                                if (builder)
                                  builder->add(report::toned(band, {}, files::Transfer::screen, 1));
                                else
                                  sample->add(band, 0, y0);
                              }});
  if (builder) return builder->finish();
  const finish::Levels shown = finish::levels_of(sample->picture().view().channels);
  builder.emplace(*this, folder);
  files::read_bands(picture,
                    {[&](const files::StoredFacts& facts) {
                       if (facts.size != size() || static_cast<int>(facts.channels) != channels_)
                         throw Problem(409, "the picture changes while it is read",
                                       "wait until it is written");
                     },
                     [&](const files::PictureView& band, int) {
                       stop_if(is_gone);
                       builder->add(report::toned(band, shown, files::Transfer::linear, 1));
                     }});
  builder->finish();
}

TilePyramid::TilePyramid(const std::string& picture, const std::string& folder,
                         const std::function<bool()>& is_gone)
    : file_(open_unnamed(folder)) {
  try {
    read(picture, folder, is_gone);
  } catch (...) {
    ::close(file_);
    throw;
  }
}

TilePyramid::~TilePyramid() { ::close(file_); }

files::Bitmap TilePyramid::tile(std::int64_t level, std::int64_t column, std::int64_t row) const {
  const Problem none(404, "the picture has no such tile", "GET .../view tells how many there are");
  if (level < 0 || level >= levels()) throw none;
  const Level& at = levels_[static_cast<std::size_t>(level)];
  if (column < 0 || column >= at.columns() || row < 0 || row >= at.rows()) throw none;
  std::vector<std::uint8_t> whole(static_cast<std::size_t>(tile_bytes()));
  const std::int64_t number = at.first_tile + row * at.columns() + column;
  if (::pread(file_, whole.data(), whole.size(), number * tile_bytes()) !=
      static_cast<ssize_t>(whole.size()))
    throw Problem(500, "the disk does not give back what was written to it", "look at it again");
  files::Bitmap out;
  out.channels = channels_;
  out.width_px =
      static_cast<int>(std::min<std::int64_t>(kTilePx, at.size.width_px - column * kTilePx));
  out.height_px =
      static_cast<int>(std::min<std::int64_t>(kTilePx, at.size.height_px - row * kTilePx));
  const std::size_t pitch = std::size_t{kTilePx} * static_cast<std::size_t>(channels_);
  const auto length = static_cast<std::ptrdiff_t>(out.width_px) * channels_;
  for (int y = 0; y < out.height_px; ++y) {
    const auto from = whole.begin() + static_cast<std::ptrdiff_t>(pitch) * y;
    out.samples.insert(out.samples.end(), from, from + length);
  }
  return out;
}

}  // namespace lull::desk

#pragma once

#include <cstdint>
#include <functional>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "files/bitmap.h"

namespace lull::desk {

/// A picture as screens show it, in squares, whole and at half of the size, a quarter and so on, so
/// that a viewer asks only for what it shows. It lies in a file without a name that ends with it;
/// little of it is in memory. Tiles may be read by any thread.
class TilePyramid {
 public:
  static constexpr int kTilePx = 256;

  /// Reads the picture.
  /// @param folder  where the file is made. @param is_gone  whether nobody waits any more; may be
  ///                empty. @throws InputError, OutputError; Problem 409 where all have left.
  TilePyramid(const std::string& picture, const std::string& folder,
              const std::function<bool()>& is_gone);
  ~TilePyramid();
  TilePyramid(const TilePyramid&) = delete;
  TilePyramid& operator=(const TilePyramid&) = delete;

  [[nodiscard]] Size size() const { return levels_.back().size; }

  [[nodiscard]] int channels() const { return channels_; }

  /// Each is twice as large as the one before; the first is one tile, the last the whole picture.
  [[nodiscard]] int levels() const { return static_cast<int>(levels_.size()); }

  /// Smaller at the right and lower edges. @throws Problem 404: there is no such tile.
  [[nodiscard]] files::Bitmap tile(std::int64_t level, std::int64_t column, std::int64_t row) const;

 private:
  struct Level {
    Size size;
    std::int64_t first_tile = 0;  ///< in the file

    [[nodiscard]] int columns() const { return (size.width_px + kTilePx - 1) / kTilePx; }

    [[nodiscard]] int rows() const { return (size.height_px + kTilePx - 1) / kTilePx; }
  };

  class Builder;

  void read(const std::string& picture, const std::string& folder,
            const std::function<bool()>& is_gone);
  void lay_out(Size picture);

  [[nodiscard]] std::int64_t tile_bytes() const {
    return std::int64_t{kTilePx} * kTilePx * channels_;
  }

  int file_;
  int channels_ = 1;
  std::vector<Level> levels_;
};

}  // namespace lull::desk

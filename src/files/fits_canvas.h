#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "core/geometry.h"
#include "core/plane.h"
#include "files/fits_parts.h"
#include "files/metadata.h"

namespace lull::files {

/// One more image of a FitsCanvas.
struct FitsCanvasPart {
  std::string name;     ///< EXTNAME
  std::string meaning;  ///< a line for the header
  Size size;
  std::size_t channels = 1;
  std::vector<Card> cards{};
};

/// A FITS file of 32-bit floats that is written rectangle by rectangle, in any order, and can be
/// read back meanwhile; what was not written is 0. So it may be larger than memory. The file
/// appears complete, by commit(), or not at all. One thread. Source: FITS Standard 4.0.
class FitsCanvas {
 public:
  /// When the disk gives room.
  enum class Room {
    at_once,   ///< all, before the first sample: for what takes long, or is read back meanwhile
    in_order,  ///< as samples come, which must be in the order of the file
  };

  /// Images are counted from 0, the first one's header holding `metadata`; `parts` follow it.
  /// @throws OutputError.
  FitsCanvas(const std::filesystem::path& path, Size size, std::size_t channels,
             const Metadata& metadata, const std::vector<FitsCanvasPart>& parts = {},
             Room room = Room::at_once);
  ~FitsCanvas();
  FitsCanvas(const FitsCanvas&) = delete;
  FitsCanvas& operator=(const FitsCanvas&) = delete;

  /// The upper left sample goes to (x0, y0). @throws OutputError.
  void write(std::size_t image, std::size_t channel, int x0, int y0, PlaneView samples);

  /// @throws OutputError where the disk does not give back what it took.
  [[nodiscard]] Plane read(std::size_t image, std::size_t channel, const Box& box);

  /// Appends the tables, sets CHECKSUM and DATASUM everywhere, and gives the file its name; nothing
  /// can be written or read afterwards. @throws OutputError.
  void commit(const std::vector<FitsTable>& tables);

 private:
  struct File;
  std::unique_ptr<File> file_;
};

}  // namespace lull::files

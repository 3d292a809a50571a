#pragma once

#include <filesystem>
#include <vector>

#include "files/fits_canvas.h"
#include "files/metadata.h"
#include "finish/restore.h"
#include "mosaic/blend.h"
#include "mosaic/coverage.h"
#include "spectrum/frc.h"

namespace lull::run {

/// The joined linear mosaic, in its file while it grows: the same file as write_linear() writes,
/// never whole in memory.
class MosaicFile {
 public:
  /// @param plan  of the mosaic that is joined. @throws OutputError.
  MosaicFile(const std::filesystem::path& path, const mosaic::Blending& plan,
             const std::vector<files::Card>& cards);

  /// @throws OutputError.
  void put(const mosaic::Tile& tile);

  [[nodiscard]] const mosaic::Coverage& coverage() const { return coverage_; }

  /// Of the half stacks' luminance, over windows all over what is covered; once all tiles are put.
  [[nodiscard]] spectrum::FrcCurve frc();

  /// Appends the curves, where there are half stacks, and gives the file its name.
  void commit(const finish::Measurements& curves);

 private:
  std::size_t channels_;
  bool has_halves_;
  mosaic::Coverage coverage_;
  files::FitsCanvas canvas_;
};

/// Bytes that it takes on the disk.
[[nodiscard]] double bytes_on_disk(Size mosaic, std::size_t channels, bool has_halves);

}  // namespace lull::run

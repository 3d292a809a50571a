#pragma once

#include <filesystem>
#include <memory>
#include <string>
#include <vector>

#include "core/progress.h"
#include "files/fits_canvas.h"
#include "run/finish_picture.h"
#include "run/large_input.h"
#include "run/look.h"

namespace lull::run {

/// A mosaic that was finished in parts. Its light is in a file without a name, which goes with
/// this.
struct TiledFinished {
  Size size;
  Finished finished;                         ///< all but its picture
  std::unique_ptr<files::FitsCanvas> light;  ///< finished, but for its tone
  int side = 1;                              ///< by which these are reduced:
  files::Picture stack;                      ///< light, as it was joined
  files::Picture picture;                    ///< light, finished
};

/// @throws UsageError where a look cannot be had in parts: turned by other than quarters.
void check_tiled_look(const Look& look, Size size);

/// Finishes a mosaic in tiles that overlap, so that memory does not grow with it. What concerns the
/// whole is estimated first: the blur of the air and the sky on a part with both sky and object,
/// colours and limb on the reduced picture, black and white on a million pixels. The rest looks at
/// most finish/detail's reach beyond a tile.
/// @param look  settled. @param beside  the file in whose folder light is kept meanwhile.
/// @throws NothingUsable, InputError, OutputError, Interrupted.
[[nodiscard]] TiledFinished finish_in_tiles(LargeInput& input, const Look& look,
                                            const std::filesystem::path& beside,
                                            const Progress& progress);

/// Writes it in the format of its name, posed. @return what the 16-bit encoding had to clamp.
/// @throws OutputError.
files::Clipped write_tiled(const std::filesystem::path& path, TiledFinished& finished,
                           const std::vector<files::Card>& cards, const Look& look,
                           const Progress& progress);

/// The reduced picture as finish_picture() would give it: for the page and the copy to share.
[[nodiscard]] Finished reduced_finished(const TiledFinished& finished, const Look& look);

/// A sentence on what is made of the reduced picture.
[[nodiscard]] std::string reduced_note(const TiledFinished& finished, const Look& look);

/// Cards of a stack for the reduced picture: its pixels are larger.
[[nodiscard]] std::vector<files::Card> reduced_cards(std::vector<files::Card> cards, int side);

/// Bytes in memory at most, and of light on the disk meanwhile.
[[nodiscard]] double bytes_of_tiled_finish(Size size, std::size_t channels);
[[nodiscard]] double disk_of_tiled_finish(Size size, std::size_t channels);

}  // namespace lull::run

#pragma once

#include <filesystem>
#include <optional>
#include <vector>

#include "files/fits_canvas.h"
#include "files/fits_parts.h"
#include "files/metadata.h"
#include "finish/restore.h"
#include "stack/stacker.h"

namespace lull::run {

/// Measurements on the half stacks, and from the comparison with single frames.
[[nodiscard]] finish::Measurements measurements_of(const stack::StackResult& result);

/// The same as extensions of the linear stack's FITS file, from which `lull finish` goes on: image
/// MARGIN (the picture with what lies beyond its edges; MARGINX and MARGINY of the first header are
/// its place there), image NOISE (half the difference of the half stacks), tables FRC, RATIO and
/// SAMPLING. A mosaic has image COVER: 1 where a panel shows something. Also, for other programs,
/// image NEFF: the effective number of frames at each place, where it is known. An enlarged stack
/// has image WEIGHT before these. The parts hold views: valid as long as the arguments.
[[nodiscard]] files::FitsParts parts_of(const finish::Measurements& measured,
                                        const stack::NodeMap& effective_frames);

/// Reads them back, to the bit. @param channels,size  of the picture in the file.
/// @return none where the file has no such extensions.
/// @throws InputError when they are damaged or do not fit the picture.
[[nodiscard]] std::optional<finish::Measurements> read_measurements(
    const std::filesystem::path& path, std::size_t channels, Size size);

/// Its curves alone: tables FRC, RATIO and SAMPLING.
[[nodiscard]] std::vector<files::FitsTable> tables_of(const finish::Measurements& measured);

/// Images NOISE and COVER, for a file that is written by parts.
[[nodiscard]] files::FitsCanvasPart noise_part(Size size, std::size_t channels);
[[nodiscard]] files::FitsCanvasPart cover_part(Size size);

/// What the first header of a linear stack holds.
[[nodiscard]] files::Metadata linear_metadata(const std::vector<files::Card>& cards);

/// What tables_of() wrote; without planes. None where the file has no such tables.
/// @throws InputError when they are damaged.
[[nodiscard]] std::optional<finish::Measurements> read_curves(const std::filesystem::path& path);

/// Writes the linear stack with its parts. @throws OutputError.
void write_linear(const std::filesystem::path& path, const files::PictureView& picture,
                  const std::vector<files::Card>& cards, const finish::Measurements& measured,
                  const stack::NodeMap& effective_frames);

}  // namespace lull::run

#pragma once

#include <filesystem>
#include <optional>

#include "files/fits_parts.h"
#include "files/metadata.h"
#include "finish/restore.h"
#include "stack/stacker.h"

namespace lull::run {

/// What the halves of a stack and the comparison with its frames show.
[[nodiscard]] finish::Evidence evidence_of(const stack::StackResult& result);

/// The same as extensions of the linear stack's FITS file, from which `lull finish` goes on:
/// image NOISE (half the difference of the half stacks), tables FRC, RATIO and SAMPLING. Also, for
/// whoever looks at the file, image NEFF: how many frames count at each place; before them, of an
/// enlarged stack, image WEIGHT. The parts hold views: valid as long as what is given.
[[nodiscard]] files::FitsParts parts_of(const finish::Evidence& evidence,
                                        const stack::NodeMap& effective_frames);

/// Reads them back, to the bit. @param channels,size  of the picture in the file.
/// @return none where the file has no such extensions.
/// @throws InputError when they are damaged or do not fit the picture.
[[nodiscard]] std::optional<finish::Evidence> read_evidence(const std::filesystem::path& path,
                                                            std::size_t channels, Size size);

/// Writes the linear stack with its parts. @throws OutputError.
void write_linear(const std::filesystem::path& path, const files::PictureView& picture,
                  const std::vector<files::Card>& cards, const finish::Evidence& evidence,
                  const stack::NodeMap& effective_frames);

}  // namespace lull::run

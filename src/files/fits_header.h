#pragma once

#include <fitsio.h>

#include <cstddef>
#include <string>
#include <vector>

#include "files/fits_parts.h"
#include "files/metadata.h"

/// What the headers of written FITS files hold, for files/fits_canvas alone.
namespace lull::files {

/// Appends an image of 32-bit floats, of which only the header is written.
void create_fits_image(fitsfile* fits, Size size, std::size_t channels, int* status);

/// One header card; texts beyond ASCII with '?', numbers that are not finite as text.
void write_fits_card(fitsfile* fits, const Card& card, int* status);

/// The cards of the first header, with room for checksums.
void write_first_cards(fitsfile* fits, const Metadata& metadata, int* status);

/// Those of an extension that is an image.
void write_part_cards(fitsfile* fits, const std::string& name, const std::string& meaning,
                      const std::vector<Card>& cards, int* status);

/// Appends a table, complete but for its checksums.
void write_fits_table(fitsfile* fits, const FitsTable& table, int* status);

/// CHECKSUM and DATASUM of the present header and its data, once both are complete.
void settle_checksums(fitsfile* fits, int* status);

}  // namespace lull::files

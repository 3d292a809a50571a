#include "files/fits_canvas.h"

#include <fitsio.h>

#include <array>
#include <cerrno>
#include <utility>

#include "core/assert.h"
#include "files/atomic_file.h"
#include "files/failure.h"
#include "files/fits_header.h"
#include "files/fits_pointer.h"
#include "files/picture_bands.h"

namespace lull::files {

struct FitsCanvas::File {
  explicit File(const std::filesystem::path& target) : path(target), file(target) {}

  // CFITSIO seldom reports why a write failed; errno usually holds the reason.
  void require() {
    if (status == 0) return;
    const int error_number = errno;
    fits.reset();
    fits_clear_errmsg();
    throw cannot_write(path, error_number);
  }

  // Header and data units are counted from 1; moving closes the present one.
  void move_to(std::size_t image) {
    if (image == current) return;
    errno = 0;
    fits_movabs_hdu(fits.get(), static_cast<int>(image) + 1, nullptr, &status);
    require();
    current = image;
  }

  std::filesystem::path path;
  AtomicFile file;
  FitsPointer fits;
  std::vector<Size> sizes;
  std::size_t current = 0;
  int status = 0;
};

FitsCanvas::FitsCanvas(const std::filesystem::path& path, Size size, std::size_t channels,
                       const Metadata& metadata, const std::vector<FitsCanvasPart>& parts,
                       Room room) {
  check_written(size, kMaxBandsPx, {});
  file_ = std::make_unique<File>(path);
  fitsfile* fits = nullptr;
  errno = 0;
  // Takes the name literally.
  fits_create_diskfile(&fits, file_->file.hand_over_name().c_str(), &file_->status);
  file_->fits = FitsPointer(fits);
  create_fits_image(fits, size, channels, &file_->status);
  write_first_cards(fits, metadata, &file_->status);
  file_->sizes = {size};
  for (const FitsCanvasPart& part : parts) {
    check_written(part.size, kMaxBandsPx, {});
    create_fits_image(fits, part.size, part.channels, &file_->status);
    write_part_cards(fits, part.name, part.meaning, part.cards, &file_->status);
    file_->sizes.push_back(part.size);
  }
  file_->current = parts.size();
  file_->require();
  if (room == Room::in_order) return;
  // What lies before the last sample becomes 0.
  const Plane last(1, 1);
  for (std::size_t image = 0; image < file_->sizes.size(); ++image) {
    const Size of = file_->sizes[image];
    const std::size_t count = image == 0 ? channels : parts[image - 1].channels;
    write(image, count - 1, of.width_px - 1, of.height_px - 1, last.view());
  }
}

FitsCanvas::~FitsCanvas() = default;

void FitsCanvas::write(std::size_t image, std::size_t channel, int x0, int y0, PlaneView samples) {
  file_->move_to(image);
  const LONGLONG width = file_->sizes[image].width_px;
  const LONGLONG height = file_->sizes[image].height_px;
  LULL_ASSERT(x0 >= 0 && y0 >= 0 && x0 + samples.width_px <= width &&
              y0 + samples.height_px <= height);
  errno = 0;
  for (int y = 0; y < samples.height_px; ++y) {
    const LONGLONG first = (static_cast<LONGLONG>(channel) * height + y0 + y) * width + x0 + 1;
    // CFITSIO only reads them.
    fits_write_img(file_->fits.get(), TFLOAT, first, samples.width_px,
                   const_cast<float*>(samples.row(y)), &file_->status);
  }
  file_->require();
}

Plane FitsCanvas::read(std::size_t image, std::size_t channel, const Box& box) {
  file_->move_to(image);
  const LONGLONG width = file_->sizes[image].width_px;
  const LONGLONG height = file_->sizes[image].height_px;
  Plane out(box.width_px(), box.height_px());
  errno = 0;
  for (int y = 0; y < out.height(); ++y) {
    const LONGLONG first =
        (static_cast<LONGLONG>(channel) * height + box.y0 + y) * width + box.x0 + 1;
    fits_read_img(file_->fits.get(), TFLOAT, first, out.width(), nullptr, out.row(y), nullptr,
                  &file_->status);
  }
  file_->require();
  return out;
}

void FitsCanvas::commit(const std::vector<FitsTable>& tables) {
  fitsfile* fits = file_->fits.get();
  int* status = &file_->status;
  file_->move_to(file_->sizes.size() - 1);
  errno = 0;
  for (const FitsTable& table : tables) write_fits_table(fits, table, status);
  for (std::size_t unit = 0; unit < file_->sizes.size() + tables.size(); ++unit) {
    fits_movabs_hdu(fits, static_cast<int>(unit) + 1, nullptr, status);
    settle_checksums(fits, status);
  }
  if (*status == 0) fits_close_file(file_->fits.release(), status);
  file_->require();
  file_->file.commit();
}

}  // namespace lull::files

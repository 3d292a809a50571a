#include "core/error.h"
#include "files/fits_pointer.h"
#include "files/fits_structure.h"
#include "fuzz/temporary_file.h"

// A file that the check accepts is one that CFITSIO can walk through: it finds no more axes than
// the check allows, in no header.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  constexpr int kMostAxes = 4;
  const fuzz::TemporaryFile file(data, size);
  try {
    const files::FitsPointer fits = files::open_fits(file.path());
    int status = 0;
    int units = 0;
    fits_get_num_hdus(fits.get(), &units, &status);
    for (int unit = 1; unit <= units && status == 0; ++unit) {
      int kind = 0;
      int axes = 0;
      fits_movabs_hdu(fits.get(), unit, &kind, &status);
      if (status == 0 && kind == IMAGE_HDU) fits_get_img_dim(fits.get(), &axes, &status);
      if (axes > kMostAxes) __builtin_trap();
    }
  } catch (const InputError&) {
    return 0;
  }
  return 0;
}

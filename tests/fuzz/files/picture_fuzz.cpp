#include "core/error.h"
#include "files/picture_file.h"
#include "fuzz/temporary_file.h"

// TIFF, PNG and FITS as pictures (dark, flat, truth): an InputError, or a picture.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const fuzz::TemporaryFile file(data, size);
  try {
    static_cast<void>(files::read_picture(file.path()));
  } catch (const RunError&) {
    return 0;
  }
  return 0;
}

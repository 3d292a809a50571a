#include "core/error.h"
#include "fuzz/temporary_file.h"
#include "quality/strehl_table.h"

// Tables of true Strehl ratios: an InputError, or ratios from 0 to 1, where there are any.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const fuzz::TemporaryFile file(data, size);
  try {
    for (const double strehl : quality::read_strehl_table(file.path()).strehl) {
      if (strehl < 0 || strehl > 1) __builtin_trap();
    }
  } catch (const RunError&) {
    return 0;
  }
  return 0;
}

#include "capture/input_file.h"
#include "capture/ser_header.h"
#include "core/error.h"
#include "fuzz/temporary_file.h"

// Header and trailer of SER: for any bytes, an InputError or figures that fit the file.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const fuzz::TemporaryFile file(data, size);
  try {
    capture::InputFile input(file.path());
    const auto ser = capture::repair_ser(input, capture::ByteOrder::automatic);
    const auto end = 178 + ser.frames * ser.frame_bytes;
    if (ser.frames < 1 || end > input.size_bytes()) __builtin_trap();
  } catch (const RunError&) {
    return 0;
  }
  return 0;
}

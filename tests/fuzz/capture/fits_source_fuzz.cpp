#include "capture/fits_source.h"
#include "capture/libav.h"
#include "core/error.h"
#include "fuzz/temporary_file.h"

// FITS pictures and cubes: an InputError, or frames of the size in the header.
extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const fuzz::TemporaryFile file(data, size);
  try {
    const auto source = capture::open_fits({file.path()}, file.path());
    const auto packet = capture::owned<capture::Packet>(av_packet_alloc());
    constexpr int kMostFrames = 64;
    for (int i = 0; i < kMostFrames && source->read(*packet); ++i) {
      const bool damaged = (packet->flags & AV_PKT_FLAG_CORRUPT) != 0;
      if (damaged == (packet->size > 0)) __builtin_trap();
    }
  } catch (const RunError&) {
    return 0;
  }
  return 0;
}

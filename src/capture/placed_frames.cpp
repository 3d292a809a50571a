#include "capture/placed_frames.h"

#include <algorithm>
#include <cstddef>
#include <new>
#include <span>

namespace lull::capture {

PlacedFrames::PlacedFrames(InputFile& file, int bytes)
    : file_(file),
      bytes_(bytes),
      pool_(owned<BufferPool>(av_buffer_pool_init(
          static_cast<std::size_t>(bytes) + AV_INPUT_BUFFER_PADDING_SIZE, nullptr))) {}

bool PlacedFrames::read(std::int64_t position, AVPacket& packet) {
  av_packet_unref(&packet);
  packet.buf = av_buffer_pool_get(pool_.get());
  if (packet.buf == nullptr) throw std::bad_alloc();
  packet.data = packet.buf->data;
  packet.size = bytes_;
  std::fill_n(packet.data + bytes_, AV_INPUT_BUFFER_PADDING_SIZE, std::uint8_t{0});
  const std::int64_t got = file_.read_at(
      position, std::as_writable_bytes(std::span(packet.data, static_cast<std::size_t>(bytes_))));
  file_.throw_if_failed();
  if (got != bytes_) return false;
  packet.pos = position;
  packet.flags |= AV_PKT_FLAG_KEY;
  return true;
}

}  // namespace lull::capture

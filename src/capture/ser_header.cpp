#include "capture/ser_header.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <bit>
#include <cstdlib>
#include <cstring>
#include <span>

#include "capture/limits.h"
#include "capture/ser_byte_order.h"
#include "core/error.h"

namespace lull::capture {

namespace {

constexpr std::int64_t kHeaderBytes = 178;
constexpr std::size_t kColourAt = 18, kOrderAt = 22, kWidthAt = 26, kHeightAt = 30, kDepthAt = 34,
                      kCountAt = 38;
constexpr std::int64_t kTickBytes = 8;
constexpr std::int64_t kMostFrameBytes = 2'000'000'000;  // of a packet of libav
constexpr std::size_t kLocalDateAt = 162, kUtcDateAt = 170;
constexpr std::int64_t kTicksPerDay = 86'400 * kTicksPerSecond;

// The integers of the file are little-endian, as is every machine Lull is built for.
static_assert(std::endian::native == std::endian::little);

[[nodiscard]] std::int32_t integer_at(std::span<const std::byte> bytes, std::size_t at) {
  std::int32_t value = 0;
  std::memcpy(&value, bytes.data() + at, sizeof value);
  return value;
}

void put_integer(std::span<std::byte> bytes, std::size_t at, std::int32_t value) {
  std::memcpy(bytes.data() + at, &value, sizeof value);
}

/// Planes interleaved in a pixel. @throws InputError for mosaics of other colours than red,
/// green and blue.
[[nodiscard]] int planes_of(const std::string& path, int colour_id) {
  switch (colour_id) {
    case 0:
    case 8:
    case 9:
    case 10:
    case 11:
      return 1;
    case 100:
    case 101:
      return 3;
    default:
      break;
  }
  throw InputError(fmt::format(
      "{}: the SER header gives colour kind {}, which is not supported (known: 0 mono, 8 to 11 "
      "red-green-blue mosaics, 100 RGB, 101 BGR).",
      path, colour_id));
}

/// Why stamps cannot be those of one night's frames; empty if they can.
[[nodiscard]] std::string fault_of(std::span<const std::int64_t> ticks) {
  if (!std::all_of(ticks.begin(), ticks.end(), [](auto t) { return is_plausible({t}); }))
    return "some are not of this time";
  if (!std::is_sorted(ticks.begin(), ticks.end())) return "they do not rise";
  if (ticks.back() - ticks.front() >= kTicksPerDay) return "they span more than a day";
  if (ticks.size() > 1 && ticks.back() == ticks.front()) return "they are all the same";
  return {};
}

/// The `count` stamps at `offset`; none if the file ends before.
[[nodiscard]] std::vector<std::int64_t> stored_ticks(InputFile& file, std::int64_t offset,
                                                     std::int64_t count) {
  if (count <= 0 || offset + count * kTickBytes > file.size_bytes()) return {};
  std::vector<std::int64_t> ticks(static_cast<std::size_t>(count));
  const auto bytes = std::as_writable_bytes(std::span(ticks));
  if (file.read_at(offset, bytes) != count * kTickBytes) return {};
  return ticks;
}

/// The same; none if these cannot be stamps.
[[nodiscard]] std::vector<std::int64_t> ticks_at(InputFile& file, std::int64_t offset,
                                                 std::int64_t count) {
  auto ticks = stored_ticks(file, offset, count);
  if (!ticks.empty() && !fault_of(ticks).empty()) ticks.clear();
  return ticks;
}

/// Is there, after the number of frames in the header, a trailer of unusable stamps? Either as many
/// as frames but implausible, or cut off. They are no frames.
[[nodiscard]] bool has_useless_trailer(InputFile& file, SerFile& ser) {
  const std::int64_t end = kHeaderBytes + ser.header_frames * ser.frame_bytes;
  const std::int64_t left = file.size_bytes() - end;
  if (left == ser.header_frames * kTickBytes) {
    const auto ticks = stored_ticks(file, end, ser.header_frames);
    if (ticks.empty()) return false;
    ser.notes.push_back(
        fmt::format("the time stamps behind the frames are not plausible ({}): they are not used",
                    fault_of(ticks)));
    return true;
  }
  const std::int64_t whole = left / kTickBytes;
  if (whole < 2 || whole >= ser.header_frames || ticks_at(file, end, whole).empty()) return false;
  ser.notes.push_back("the time stamps behind the frames are cut off: they are not used");
  return true;
}

/// Sets the number of whole frames and the trailer. The header's count is used only where the
/// length of the file agrees with it.
void count_frames(InputFile& file, SerFile& ser) {
  const std::int64_t payload = file.size_bytes() - kHeaderBytes;
  const std::int64_t by_size = payload / ser.frame_bytes;
  check_frame_count(file.path(), by_size);
  const std::int64_t stated = ser.header_frames;
  const auto try_count = [&](std::int64_t count) {
    ser.ticks = ticks_at(file, kHeaderBytes + count * ser.frame_bytes, count);
    if (!ser.ticks.empty()) ser.frames = count;
    return !ser.ticks.empty();
  };
  if (stated > 0 && stated <= by_size) {
    if (try_count(stated)) return;
    if (has_useless_trailer(file, ser)) {
      ser.frames = stated;
      return;
    }
  }
  // The count is wrong, or there is no trailer. One that fits the length exactly shows itself.
  if (payload % (ser.frame_bytes + kTickBytes) == 0 &&
      try_count(payload / (ser.frame_bytes + kTickBytes))) {
    return;
  }
  // A trailer for the frames that were promised, of which some never reached the disk.
  const std::int64_t rest = payload - stated * kTickBytes;
  if (stated > by_size && rest > 0 && rest % ser.frame_bytes == 0) {
    const std::int64_t count = rest / ser.frame_bytes;
    const auto promised = ticks_at(file, kHeaderBytes + count * ser.frame_bytes, stated);
    if (!promised.empty()) {
      ser.frames = count;  // which stamp belongs to which frame is not known
      return;
    }
  }
  ser.frames = by_size;
}

/// Frames a second by the trailer; 0 = not known.
[[nodiscard]] double frames_per_s(const std::vector<std::int64_t>& ticks) {
  if (ticks.size() < 2 || ticks.back() == ticks.front()) return 0;
  return static_cast<double>(ticks.size() - 1) * static_cast<double>(kTicksPerSecond) /
         static_cast<double>(ticks.back() - ticks.front());
}

/// When the frames were taken. Some programs write local time into the trailer. This shows where
/// the header has both times, and the trailer begins with the local one.
void find_times(std::span<const std::byte> head, SerFile& ser) {
  ser.times.known = !ser.ticks.empty();
  ser.times.frames_per_s = frames_per_s(ser.ticks);
  constexpr std::int64_t kSlack = kTicksPerSecond * 60 * 15;  // zones differ by quarters of an hour
  std::int64_t local = 0;
  std::int64_t utc = 0;
  std::memcpy(&local, head.data() + kLocalDateAt, sizeof local);
  std::memcpy(&utc, head.data() + kUtcDateAt, sizeof utc);
  const bool utc_known = is_plausible({utc});
  if (ser.ticks.empty()) {
    if (!utc_known) return;
    ser.times.begun = Utc{utc};
    ser.times.begun_source = "date in the header";
    return;
  }
  ser.times.begun = Utc{ser.ticks.front()};
  ser.times.begun_source = "time stamps of the frames";
  if (!utc_known || !is_plausible({local})) return;
  const bool in_utc = std::abs(ser.ticks.front() - utc) < kSlack;
  const bool in_local = std::abs(ser.ticks.front() - local) < kSlack;
  if (in_utc || !in_local) return;
  ser.times.begun->ticks += utc - local;
  ser.notes.push_back(
      "the time stamps of the frames are in local time: they are converted to UTC by the two dates "
      "of the header");
}

void note_count(const InputFile& file, SerFile& ser) {
  if (ser.header_frames != ser.frames) {
    ser.notes.push_back(fmt::format("the header states {} frames, the file holds {} complete ones",
                                    ser.header_frames, ser.frames));
  }
  const std::int64_t left = file.size_bytes() - kHeaderBytes - ser.frames * ser.frame_bytes;
  if (ser.ticks.empty() && left > 0 && ser.frames < ser.header_frames) {
    ser.notes.push_back("the last frame is incomplete and is left out");
  }
}

[[nodiscard]] SerFile parse(const std::string& path, std::span<const std::byte> head) {
  SerFile ser;
  ser.colour_id = integer_at(head, kColourAt);
  ser.header_little_endian = integer_at(head, kOrderAt) != 0;
  ser.little_endian = ser.header_little_endian;
  ser.size = {integer_at(head, kWidthAt), integer_at(head, kHeightAt)};
  ser.depth_bits = integer_at(head, kDepthAt);
  ser.header_frames = std::max(integer_at(head, kCountAt), 0);
  check_size(path, ser.size);
  if (ser.depth_bits < 1 || ser.depth_bits > 16) {
    throw InputError(fmt::format(
        "{}: the SER header gives {} bits a sample; 1 to 16 are possible. The header is damaged.",
        path, ser.depth_bits));
  }
  const int sample_bytes = ser.depth_bits > 8 ? 2 : 1;
  ser.frame_bytes = ser.size.area_px() * planes_of(path, ser.colour_id) * sample_bytes;
  if (ser.frame_bytes > kMostFrameBytes) {
    throw InputError(fmt::format("{}: frames of {} x {} px are too large.", path, ser.size.width_px,
                                 ser.size.height_px));
  }
  return ser;
}

}  // namespace

SerFile repair_ser(InputFile& file, ByteOrder order) {
  std::vector<std::byte> head(static_cast<std::size_t>(kHeaderBytes));
  if (file.read_at(0, head) != kHeaderBytes) {
    file.throw_if_failed();
    throw InputError(fmt::format(
        "{}: {} bytes are too few for a SER header (178). The file is cut off; copy it again.",
        file.path(), file.size_bytes()));
  }
  SerFile ser = parse(file.path(), head);
  count_frames(file, ser);
  if (ser.frames == 0) {
    throw InputError(fmt::format(
        "{}: holds no complete frame: a frame of {} x {} px takes {} bytes, {} follow the header.",
        file.path(), ser.size.width_px, ser.size.height_px, ser.frame_bytes,
        file.size_bytes() - kHeaderBytes));
  }
  note_count(file, ser);
  find_times(head, ser);
  if (ser.depth_bits > 8) choose_byte_order(file, kHeaderBytes, order, ser);
  file.throw_if_failed();
  put_integer(head, kOrderAt, ser.little_endian ? 1 : 0);
  put_integer(head, kCountAt,
              static_cast<std::int32_t>(std::min<std::int64_t>(ser.frames, INT32_MAX)));
  file.show_head(std::move(head));
  return ser;
}

}  // namespace lull::capture

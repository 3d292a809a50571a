#include "files/exif.h"

#include <cstddef>
#include <utility>

namespace lull::files {

namespace {

// Directories of Exif (CIPA DC-008-2019, section 4.6), little-endian: tags with 2 or 4 bytes of
// value inside, or the offset of more, counted from the TIFF header.
class ExifDirectory {
 public:
  void add_text(std::uint16_t tag, const std::string& text) {
    add(tag, kAscii, std::vector<std::uint8_t>(text.c_str(), text.c_str() + text.size() + 1));
  }

  void add_short(std::uint16_t tag, std::uint16_t value) {
    add(tag, kShort, {low_byte(value), low_byte(value >> 8U)});
  }

  void add_bytes(std::uint16_t tag, const std::string& four) {
    add(tag, kUndefined, std::vector<std::uint8_t>(four.begin(), four.end()));
  }

  // Where the directory after this one, at the end of its bytes, is.
  void add_offset(std::uint16_t tag, std::uint32_t offset) {
    add(tag, kLong,
        {low_byte(offset), low_byte(offset >> 8U), low_byte(offset >> 16U),
         low_byte(offset >> 24U)});
  }

  [[nodiscard]] std::size_t size() const {
    std::size_t bytes = 2 + kEntry * entries_.size() + 4;
    for (const Entry& entry : entries_) bytes += outside(entry);
    return bytes;
  }

  // Its bytes at this offset.
  [[nodiscard]] std::vector<std::uint8_t> bytes_at(std::size_t offset) const {
    std::vector<std::uint8_t> out;
    std::vector<std::uint8_t> values;
    put(out, entries_.size(), 2);
    std::size_t next = offset + 2 + kEntry * entries_.size() + 4;
    for (const Entry& entry : entries_) {
      put(out, entry.tag, 2);
      put(out, entry.type, 2);
      put(out, entry.type == kShort || entry.type == kLong ? 1 : entry.value.size(), 4);
      std::vector<std::uint8_t> value = entry.value;
      if (outside(entry) > 0) {
        put(out, next, 4);
        value.resize(outside(entry));
        next += value.size();
        values.insert(values.end(), value.begin(), value.end());
      } else {
        value.resize(4);
        out.insert(out.end(), value.begin(), value.end());
      }
    }
    put(out, 0, 4);  // no directory follows
    out.insert(out.end(), values.begin(), values.end());
    return out;
  }

 private:
  static constexpr std::uint16_t kAscii = 2;
  static constexpr std::uint16_t kShort = 3;
  static constexpr std::uint16_t kLong = 4;
  static constexpr std::uint16_t kUndefined = 7;
  static constexpr std::size_t kEntry = 12;  // bytes

  struct Entry {
    std::uint16_t tag;
    std::uint16_t type;
    std::vector<std::uint8_t> value;
  };

  static std::uint8_t low_byte(std::uint32_t value) {
    return static_cast<std::uint8_t>(value & 0xFFU);
  }

  static void put(std::vector<std::uint8_t>& out, std::size_t value, unsigned bytes) {
    for (unsigned i = 0; i < bytes; ++i)
      out.push_back(static_cast<std::uint8_t>(value >> (8U * i)));
  }

  // Bytes outside of the entry, an even number.
  static std::size_t outside(const Entry& entry) {
    return entry.value.size() > 4 ? (entry.value.size() + 1) / 2 * 2 : 0;
  }

  void add(std::uint16_t tag, std::uint16_t type, std::vector<std::uint8_t> value) {
    entries_.push_back({tag, type, std::move(value)});
  }

  std::vector<Entry> entries_;  // by rising tag
};

// "2026-03-01T20:15:03.5" as Exif has it.
std::string exif_moment(const std::string& utc) {
  std::string out = utc.substr(0, 19);
  out[4] = out[7] = ':';
  out[10] = ' ';
  return out;
}

}  // namespace

std::vector<std::uint8_t> exif_segment(const ShareTags& tags) {
  constexpr std::size_t kTiffHeader = 8;
  ExifDirectory details;
  details.add_bytes(0x9000, "0232");  // ExifVersion
  if (tags.recorded_utc.size() >= 19) {
    details.add_text(0x9003, exif_moment(tags.recorded_utc));  // DateTimeOriginal
    details.add_text(0x9011, "+00:00");                        // OffsetTimeOriginal
  }
  details.add_short(0xA001, 1);  // ColorSpace: sRGB
  const auto first = [&](std::size_t details_at) {
    ExifDirectory directory;
    if (!tags.description.empty()) directory.add_text(0x010E, tags.description);
    directory.add_offset(0x8769, static_cast<std::uint32_t>(details_at));
    return directory;
  };
  const std::size_t details_at = kTiffHeader + first(0).size();
  std::vector<std::uint8_t> out = {'E', 'x', 'i', 'f', 0, 0, 'I', 'I', 42, 0, 8, 0, 0, 0};
  for (const auto& part : {first(details_at).bytes_at(kTiffHeader), details.bytes_at(details_at)})
    out.insert(out.end(), part.begin(), part.end());
  return out;
}

}  // namespace lull::files

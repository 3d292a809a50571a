#include "files/fits_structure.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <charconv>
#include <cstdint>
#include <map>
#include <string>
#include <string_view>

#include "core/error.h"
#include "files/failure.h"

namespace lull::files {

namespace {

namespace fs = std::filesystem;

// FITS Standard 4.0, sections 3.1 and 4.1: blocks of 36 cards.
constexpr std::int64_t kCardBytes = 80;
constexpr std::int64_t kBlockBytes = 36 * kCardBytes;
constexpr std::size_t kNameBytes = 8;
constexpr std::int64_t kMostFields = 999;  // section 7.2.1

// Limits of this program, far above what any of its files needs.
constexpr std::int64_t kMostAxes = 4;
constexpr std::int64_t kMostHeaderBytes = 1000 * kBlockBytes;
constexpr int kMostUnits = 1000;
constexpr std::int64_t kMostBytes = std::int64_t{1} << 56U;

class File {
 public:
  explicit File(const fs::path& path) : path_(path) {
    const std::string why = why_unreadable(path);
    if (!why.empty()) throw bad(why);
    descriptor_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
    struct stat status = {};
    if (descriptor_ < 0 || ::fstat(descriptor_, &status) != 0) throw cannot_read(path, errno);
    bytes_ = status.st_size;
  }

  ~File() { ::close(descriptor_); }

  File(const File&) = delete;
  File& operator=(const File&) = delete;

  [[nodiscard]] std::int64_t bytes() const { return bytes_; }

  /// A block, or as much of it as the file has.
  [[nodiscard]] std::string block_at(std::int64_t offset) const {
    std::string block(kBlockBytes, '\0');
    std::size_t done = 0;
    while (done < block.size()) {
      const ssize_t got = ::pread(descriptor_, block.data() + done, block.size() - done,
                                  offset + static_cast<std::int64_t>(done));
      if (got < 0 && errno == EINTR) continue;
      if (got < 0) throw cannot_read(path_, errno);
      if (got == 0) break;
      done += static_cast<std::size_t>(got);
    }
    block.resize(done);
    return block;
  }

  [[nodiscard]] InputError bad(const std::string& why) const {
    return InputError(fmt::format("cannot read '{}': {}", path_.string(), why));
  }

  [[nodiscard]] InputError damaged(int unit, const std::string& why) const {
    const std::string where = unit == 0 ? "its header" : fmt::format("its extension {}", unit);
    return bad(fmt::format("{} is damaged or not supported: {}", where, why));
  }

 private:
  fs::path path_;
  int descriptor_ = -1;
  std::int64_t bytes_ = 0;
};

/// The name of a card as CFITSIO finds it: names of the convention HIERARCH count as names too.
std::string_view name_of(std::string_view card) {
  constexpr std::string_view kHierarchy = "HIERARCH ";
  if (!card.starts_with(kHierarchy)) return card.substr(0, card.find_first_of(" ="));
  const auto equals = card.find('=');
  if (equals == std::string_view::npos) return card.substr(0, kNameBytes);
  const std::string_view name = card.substr(kHierarchy.size(), equals - kHierarchy.size());
  const auto first = name.find_first_not_of(' ');
  if (first == std::string_view::npos) return {};
  return name.substr(first, name.find_last_not_of(' ') + 1 - first);
}

/// Whether the size or the kind of a unit follows from this card.
bool is_structural(std::string_view name) {
  constexpr std::array kNames = {"SIMPLE", "XTENSION", "BITPIX", "PCOUNT", "GCOUNT",
                                 "GROUPS", "TFIELDS",  "ZIMAGE", "THEAP",  "END"};
  return name.starts_with("NAXIS") || std::find(kNames.begin(), kNames.end(), name) != kNames.end();
}

/// The cards that a unit's structure follows from, and where its data begins.
class Header {
 public:
  Header(const File& file, int unit, std::int64_t begin) : file_(file), unit_(unit) {
    for (std::int64_t at = begin; at - begin < kMostHeaderBytes; at += kBlockBytes) {
      const std::string block = file.block_at(at);
      if (static_cast<std::int64_t>(block.size()) < kBlockBytes)
        throw file.damaged(unit, "the file ends before its END card");
      for (std::int64_t i = 0; i < kBlockBytes; i += kCardBytes) {
        const std::string_view card = std::string_view(block).substr(
            static_cast<std::size_t>(i), static_cast<std::size_t>(kCardBytes));
        if (name_of(card) == "END") {
          require_blank_end(card);
          data_begin_ = at + kBlockBytes;
          return;
        }
        add(card);
      }
    }
    throw file.damaged(unit, fmt::format("it has no END card within {} bytes", kMostHeaderBytes));
  }

  [[nodiscard]] std::int64_t data_begin() const { return data_begin_; }

  [[nodiscard]] bool has(const std::string& name) const { return cards_.contains(name); }

  /// The characters of a value, a text without its quotes. @throws InputError without that card.
  [[nodiscard]] std::string text(const std::string& name) const {
    const std::string_view value = card(name).value;
    if (!value.starts_with('\'')) return std::string(value.substr(0, value.find_first_of(" /")));
    const auto end = value.find('\'', 1);
    if (end == std::string_view::npos) throw bad(name, "has a text without an end");
    std::string text(value.substr(1, end - 1));
    const auto last = text.find_last_not_of(' ');
    text.resize(last == std::string::npos ? 0 : last + 1);
    return text;
  }

  /// @throws InputError without that card, or if its value is no integer in that range.
  [[nodiscard]] std::int64_t whole(const std::string& name, std::int64_t lowest,
                                   std::int64_t highest) const {
    std::string word = text(name);
    if (word.starts_with('+')) word.erase(0, 1);
    std::int64_t value = 0;
    const auto [end, error] = std::from_chars(word.data(), word.data() + word.size(), value);
    if (error != std::errc() || end != word.data() + word.size() || card(name).value[0] == '\'')
      throw bad(name, "is not a whole number");
    if (value < lowest || value > highest)
      throw bad(name, fmt::format("is {}; {} to {} are supported", value, lowest, highest));
    return value;
  }

  /// The same, with a value where the card may be missing.
  [[nodiscard]] std::int64_t whole_or(const std::string& name, std::int64_t otherwise,
                                      std::int64_t lowest, std::int64_t highest) const {
    return has(name) ? whole(name, lowest, highest) : otherwise;
  }

  /// @throws InputError unless the card of that name stands at that place, from 0.
  void require_place(const std::string& name, std::int64_t place) const {
    if (card(name).place == place) return;
    throw bad(name, fmt::format("is card {}, not {}", card(name).place + 1, place + 1));
  }

  [[nodiscard]] InputError bad(const std::string& name, const std::string& what) const {
    return file_.damaged(unit_, fmt::format("{} {}", name, what));
  }

 private:
  struct Value {
    std::string value;  ///< from its first character on, with the comment
    std::int64_t place = 0;
  };

  const Value& card(const std::string& name) const {
    const auto found = cards_.find(name);
    if (found == cards_.end()) throw bad(name, "is missing");
    return found->second;
  }

  void require_blank_end(std::string_view card) const {
    if (card.substr(3).find_first_not_of(' ') != std::string_view::npos)
      throw bad("END", "is not followed by spaces");
  }

  void add(std::string_view card) {
    const std::int64_t place = count_++;
    if (card.find('\0') != std::string_view::npos)
      throw file_.damaged(unit_, fmt::format("card {} holds a byte 0", place + 1));
    const std::string name(name_of(card));
    if (!is_structural(name)) return;
    const std::string start = fmt::format("{:<8}= ", name);  // section 4.1.2.2
    if (!card.starts_with(start)) throw bad(name, "has no value");
    const auto first = card.find_first_not_of(' ', start.size());
    if (first == std::string_view::npos) throw bad(name, "has no value");
    const bool is_new =
        cards_.try_emplace(name, Value{std::string(card.substr(first)), place}).second;
    if (!is_new) throw bad(name, "occurs twice");
  }

  const File& file_;
  int unit_;
  std::map<std::string, Value> cards_;
  std::int64_t count_ = 0;
  std::int64_t data_begin_ = 0;
};

/// @throws InputError if the product is larger than any file.
std::int64_t product(const Header& header, const std::string& name, std::int64_t a,
                     std::int64_t b) {
  if (b != 0 && a > kMostBytes / b) throw header.bad(name, "makes the data larger than any file");
  return a * b;
}

std::int64_t sample_bytes(const Header& header) {
  const std::int64_t bits = header.whole("BITPIX", -64, 64);
  constexpr std::array<std::int64_t, 6> kBits = {8, 16, 32, 64, -32, -64};  // section 4.4.1.1
  if (std::find(kBits.begin(), kBits.end(), bits) == kBits.end())
    throw header.bad("BITPIX", fmt::format("is {}", bits));
  return std::abs(bits) / 8;
}

/// Axes in their order, each once. @return samples, or bytes of a table's rows.
std::int64_t samples_of(const Header& header, std::int64_t most_axes) {
  header.require_place("BITPIX", 1);
  header.require_place("NAXIS", 2);
  const std::int64_t axes = header.whole("NAXIS", 0, most_axes);
  std::int64_t samples = axes == 0 ? 0 : 1;
  for (std::int64_t axis = 1; axis <= axes; ++axis) {
    const std::string name = fmt::format("NAXIS{}", axis);
    header.require_place(name, 2 + axis);
    samples = product(header, name, samples, header.whole(name, 0, kMostBytes));
  }
  return samples;
}

std::int64_t table_bytes(const Header& header, std::int64_t most_axes) {
  const std::int64_t rows = samples_of(header, most_axes);
  if (header.whole("NAXIS", 2, 2) != 2 || sample_bytes(header) != 1)
    throw header.bad("BITPIX", "does not fit a table");
  if (header.has("ZIMAGE") && header.text("ZIMAGE") != "F") {
    // The checks of this file do not reach the bytes of tiles, which CFITSIO would unpack.
    throw header.bad("ZIMAGE",
                     "marks a compressed image, which is not read; unpack it first, for example "
                     "with funpack (package libcfitsio-bin)");
  }
  static_cast<void>(header.whole("GCOUNT", 1, 1));
  static_cast<void>(header.whole("TFIELDS", 0, kMostFields));
  if (header.has("THEAP")) static_cast<void>(header.whole("THEAP", rows, rows));
  return rows + header.whole("PCOUNT", 0, kMostBytes);
}

/// Bytes of the data behind a header, as section 4.4.1 has it.
std::int64_t data_bytes(const Header& header, int unit) {
  if (unit == 0) {
    const std::string simple = header.text("SIMPLE");
    if (simple != "T" && simple != "F") throw header.bad("SIMPLE", "is neither T nor F");
  }
  const std::string kind = unit == 0 ? "IMAGE" : header.text("XTENSION");
  if (kind == "BINTABLE" || kind == "A3DTABLE" || kind == "3DTABLE" || kind == "TABLE")
    return table_bytes(header, 2);
  if (header.has("GROUPS") && header.text("GROUPS") == "T")
    throw header.bad("GROUPS", "marks random groups, which are not images");
  const bool is_image = kind == "IMAGE" || kind == "IUEIMAGE";
  const std::int64_t samples = samples_of(header, kMostAxes);
  const std::int64_t more = header.whole_or("PCOUNT", 0, 0, is_image ? 0 : kMostBytes);
  const std::int64_t groups = header.whole_or("GCOUNT", 1, 1, is_image ? 1 : kMostBytes);
  return product(header, "BITPIX", product(header, "GCOUNT", samples + more, groups),
                 sample_bytes(header));
}

bool begins_with(std::string_view block, std::string_view name) {
  return block.starts_with(name) && name_of(block) == name;
}

}  // namespace

int check_fits_structure(const fs::path& path) {
  const File file(path);
  if (!begins_with(file.block_at(0), "SIMPLE")) throw file.bad("it is not a FITS file");
  std::int64_t begin = 0;
  for (int unit = 0; unit < kMostUnits; ++unit) {
    const Header header(file, unit, begin);
    const std::int64_t bytes = data_bytes(header, unit);
    const std::int64_t blocks = (bytes + kBlockBytes - 1) / kBlockBytes;
    begin = header.data_begin() + blocks * kBlockBytes;
    // What follows without this keyword are special records (section 3.5) or a file's old rest.
    if (begin >= file.bytes() || !begins_with(file.block_at(begin), "XTENSION")) return unit + 1;
  }
  throw file.bad(fmt::format("it has more than {} extensions", kMostUnits - 1));
}

}  // namespace lull::files

#pragma once

#include <cstdint>
#include <filesystem>
#include <string>
#include <string_view>

namespace lull::report {

enum class Coverage {
  whole,
  ends,  ///< the first and the last mebibyte alone, one after the other
};

/// Identifies a file that a run has read.
struct Fingerprint {
  std::string sha256;  ///< 64 lower-case hexadecimal digits (FIPS 180-4)
  std::int64_t bytes = 0;
  Coverage coverage = Coverage::whole;  ///< what the checksum is of
};

/// Up to this size a file is read whole; of larger ones only the ends, so that a capture of many
/// gigabytes is not read a second time.
inline constexpr std::int64_t kWholeBytes = std::int64_t{64} << 20U;
inline constexpr std::int64_t kEndBytes = std::int64_t{1} << 20U;

/// The checksum of a text, in the same form.
[[nodiscard]] std::string sha256_of(std::string_view text);

/// @throws InputError when the file cannot be read.
[[nodiscard]] Fingerprint fingerprint_of(const std::filesystem::path& path);

}  // namespace lull::report

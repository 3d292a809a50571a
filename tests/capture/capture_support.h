#pragma once

#include <cstddef>
#include <cstdint>
#include <filesystem>
#include <optional>
#include <string>
#include <vector>

#include "capture/capture.h"

namespace lull::test {

using Bytes = std::vector<std::byte>;

/// A folder for one test case, removed at its end.
class TempFolder {
 public:
  TempFolder();
  ~TempFolder();
  TempFolder(const TempFolder&) = delete;
  TempFolder& operator=(const TempFolder&) = delete;

  [[nodiscard]] std::string file(const std::string& name) const { return (path_ / name).string(); }

  [[nodiscard]] std::string path() const { return path_.string(); }

 private:
  std::filesystem::path path_;
};

[[nodiscard]] Bytes read_file(const std::string& path);
void write_file(const std::string& path, const Bytes& bytes);

/// Little-endian 32-bit integer of a file image.
void put_integer(Bytes& bytes, std::size_t at, std::int32_t value);

/// First place of `text` in `bytes` from `from` on; npos-like SIZE_MAX if there is none.
[[nodiscard]] std::size_t find_text(const Bytes& bytes, const std::string& text,
                                    std::size_t from = 0);

/// Seeded pictures of `bytes` bytes each: a bright disc on a dark ground, with noise, that moves
/// from picture to picture, so that no two are equal. 8-bit samples, `width_px` a row.
[[nodiscard]] std::vector<Bytes> pictures_8(int count, std::size_t bytes, int width_px);

/// The same in 16-bit words: samples of `bits` bits, shifted up by `shift`.
[[nodiscard]] std::vector<Bytes> pictures_16(int count, std::size_t samples, int width_px, int bits,
                                             int shift);

/// Samples of a frame, planes one after the other, without padding.
[[nodiscard]] Bytes samples_of(const capture::Frame& frame);

/// All frames in order; an empty entry is a damaged one.
[[nodiscard]] std::vector<Bytes> all_frames(capture::Capture& capture);

/// What the ffmpeg program decodes the file to, cut into pictures of `picture_bytes`: an outside
/// reference. Nothing if the program is not installed (the caller says so and goes on).
[[nodiscard]] std::optional<std::vector<Bytes>> decoded_by_ffmpeg(const std::string& path,
                                                                  const std::string& pixel_format,
                                                                  std::size_t picture_bytes);

/// Message of the InputError that opening the file gives; empty if it opens.
[[nodiscard]] std::string refusal_of(const std::string& path);

}  // namespace lull::test

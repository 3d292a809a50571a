#pragma once

#include <cstddef>
#include <cstdint>
#include <span>
#include <string>
#include <utility>
#include <vector>

#include "capture/libav.h"

namespace lull::capture {

/// A regular file opened read-only. Readers may be shown a corrected head; the file itself is never
/// touched.
class InputFile {
 public:
  /// @throws InputError: missing, a directory or other special file, empty; files::ReadError: not
  /// allowed, or the disk failed.
  explicit InputFile(const std::string& path);
  ~InputFile();
  InputFile(const InputFile&) = delete;
  InputFile& operator=(const InputFile&) = delete;

  [[nodiscard]] const std::string& path() const { return path_; }

  [[nodiscard]] std::int64_t size_bytes() const { return size_bytes_; }

  /// Fills `into` from the file itself, as far as it goes. @return bytes read, or -1 on a read
  /// error, which failed() then reports. Safe to call in parallel.
  [[nodiscard]] std::int64_t read_at(std::int64_t offset, std::span<std::byte> into);

  /// The same of what readers are shown.
  [[nodiscard]] std::int64_t read_visible(std::int64_t offset, std::span<std::byte> into);

  /// From now on readers see `head` in place of the first bytes.
  void show_head(std::vector<std::byte> head) { head_ = std::move(head); }

  /// @throws files::ReadError if a read failed since the file was opened (bad disk, lost network
  /// drive).
  void throw_if_failed() const;

 private:
  std::string path_;
  int descriptor_ = -1;
  int failure_ = 0;  ///< errno of the first failed read
  std::int64_t size_bytes_ = 0;
  std::vector<std::byte> head_;
};

/// libav's reading end of an InputFile, which must outlive it.
class FileReader {
 public:
  explicit FileReader(InputFile& file);
  FileReader(const FileReader&) = delete;
  FileReader& operator=(const FileReader&) = delete;

  [[nodiscard]] AVIOContext* context() const { return context_.get(); }

 private:
  static int read(void* self, std::uint8_t* into, int size);
  static std::int64_t seek(void* self, std::int64_t offset, int whence);

  InputFile& file_;
  std::int64_t position_ = 0;
  IoContext context_;
};

}  // namespace lull::capture

#include "capture/input_file.h"

#include <fcntl.h>
#include <fmt/format.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <cerrno>
#include <cstdio>
#include <cstring>

#include "core/error.h"
#include "files/failure.h"

namespace lull::capture {

namespace {

/// Larger reads (frames of raw video) bypass libav's buffer, so it need not be large.
constexpr int kBufferBytes = 64 * 1024;

[[noreturn]] void throw_cannot_open(const std::string& path, int error) {
  const std::string message = fmt::format("{}: {}", path, files::read_failure(error));
  if (error == ENOENT || error == ENOTDIR) throw InputError(message);
  throw files::ReadError(message);  // it is there, and nobody knows what it holds
}

}  // namespace

InputFile::InputFile(const std::string& path) : path_(path) {
  struct stat status {};

  // Looked at before it is opened: opening a named pipe would wait for a writer, maybe for ever.
  if (::stat(path.c_str(), &status) != 0) throw_cannot_open(path, errno);
  if (S_ISDIR(status.st_mode)) {
    throw InputError(fmt::format(
        "{}: is a folder, not a capture. Name a video file, or numbered pictures by a pattern "
        "such as {}/moon_%04d.png.",
        path, path));
  }
  if (!S_ISREG(status.st_mode)) {
    throw InputError(fmt::format("{}: is not a regular file. Name a video file.", path));
  }
  if (status.st_size == 0) {
    throw InputError(
        fmt::format("{}: the file is empty (0 bytes). Record or copy it again.", path));
  }
  descriptor_ = ::open(path.c_str(), O_RDONLY | O_CLOEXEC);
  if (descriptor_ < 0) throw_cannot_open(path, errno);
  size_bytes_ = status.st_size;
}

InputFile::~InputFile() {
  if (descriptor_ >= 0) ::close(descriptor_);
}

std::int64_t InputFile::read_at(std::int64_t offset, std::span<std::byte> into) {
  std::size_t done = 0;
  while (done < into.size()) {
    const ssize_t got = ::pread(descriptor_, into.data() + done, into.size() - done,
                                offset + static_cast<std::int64_t>(done));
    if (got == 0) break;
    if (got < 0) {
      if (errno == EINTR) continue;
      if (failure_ == 0) failure_ = errno;
      return -1;
    }
    done += static_cast<std::size_t>(got);
  }
  return static_cast<std::int64_t>(done);
}

std::int64_t InputFile::read_visible(std::int64_t offset, std::span<std::byte> into) {
  const std::int64_t got = read_at(offset, into);
  const auto head_bytes = static_cast<std::int64_t>(head_.size());
  if (got > 0 && offset < head_bytes) {
    const auto count = static_cast<std::size_t>(std::min(got, head_bytes - offset));
    std::memcpy(into.data(), head_.data() + offset, count);
  }
  return got;
}

void InputFile::throw_if_failed() const {
  if (failure_ == 0) return;
  throw files::ReadError(
      fmt::format("{}: reading failed ({}). Check the disk or the connection, then try again.",
                  path_, files::read_failure(failure_)));
}

FileReader::FileReader(InputFile& file) : file_(file) {
  auto* buffer = static_cast<unsigned char*>(av_malloc(kBufferBytes));
  AVIOContext* made = buffer == nullptr
                          ? nullptr
                          : avio_alloc_context(buffer, kBufferBytes, 0, this, &FileReader::read,
                                               nullptr, &FileReader::seek);
  if (made == nullptr) av_free(buffer);
  context_ = owned<IoContext>(made);
}

int FileReader::read(void* self, std::uint8_t* into, int size) {
  auto& reader = *static_cast<FileReader*>(self);
  const std::int64_t got = reader.file_.read_visible(
      reader.position_,
      std::as_writable_bytes(std::span(into, static_cast<std::size_t>(std::max(size, 0)))));
  if (got < 0) return kReadError;
  if (got == 0) return kEndOfStream;
  reader.position_ += got;
  return static_cast<int>(got);
}

std::int64_t FileReader::seek(void* self, std::int64_t offset, int whence) {
  auto& reader = *static_cast<FileReader*>(self);
  switch (whence & ~AVSEEK_FORCE) {
    case AVSEEK_SIZE:
      return reader.file_.size_bytes();
    case SEEK_SET:
      break;
    case SEEK_CUR:
      offset += reader.position_;
      break;
    case SEEK_END:
      offset += reader.file_.size_bytes();
      break;
    default:
      return kReadError;
  }
  if (offset < 0) return kReadError;
  reader.position_ = offset;
  return offset;
}

}  // namespace lull::capture

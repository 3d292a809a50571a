#include "fuzz/temporary_file.h"

#include <sys/mman.h>
#include <unistd.h>

#include <cstdio>
#include <cstdlib>

namespace lull::fuzz {

TemporaryFile::TemporaryFile(const std::uint8_t* data, std::size_t size)
    : descriptor_(memfd_create("lull_fuzz", MFD_CLOEXEC)),
      path_("/proc/self/fd/" + std::to_string(descriptor_)) {
  for (std::size_t done = 0; done < size;) {
    const ssize_t wrote = write(descriptor_, data + done, size - done);
    if (wrote <= 0) {
      std::perror("memory file");
      std::abort();
    }
    done += static_cast<std::size_t>(wrote);
  }
}

TemporaryFile::~TemporaryFile() { close(descriptor_); }

}  // namespace lull::fuzz

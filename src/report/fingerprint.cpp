#include "report/fingerprint.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <algorithm>
#include <array>
#include <cerrno>
#include <fstream>
#include <memory>
#include <vector>

#include "core/error.h"
#include "files/failure.h"

namespace lull::report {

namespace {

constexpr std::int64_t kBlockBytes = std::int64_t{1} << 20U;

struct FreeDigest {
  void operator()(EVP_MD_CTX* context) const { EVP_MD_CTX_free(context); }
};

InputError cannot_read(const std::filesystem::path& path, int error_number) {
  return InputError(
      fmt::format("{}: reading it again for its checksum failed ({}); check that it was not moved "
                  "and the disk is connected",
                  path.string(), files::read_failure(error_number)));
}

class Sha256 {
 public:
  Sha256() : context_(EVP_MD_CTX_new()) {
    if (!context_ || EVP_DigestInit_ex(context_.get(), EVP_sha256(), nullptr) != 1)
      throw std::bad_alloc();
  }

  void add(const char* bytes, std::size_t count) { EVP_DigestUpdate(context_.get(), bytes, count); }

  [[nodiscard]] std::string hexadecimal() {
    std::array<unsigned char, EVP_MAX_MD_SIZE> digest{};
    unsigned int length = 0;
    EVP_DigestFinal_ex(context_.get(), digest.data(), &length);
    std::string text;
    for (unsigned int i = 0; i < length; ++i) text += fmt::format("{:02x}", digest[i]);
    return text;
  }

 private:
  std::unique_ptr<EVP_MD_CTX, FreeDigest> context_;
};

}  // namespace

std::string sha256_of(std::string_view text) {
  Sha256 hash;
  hash.add(text.data(), text.size());
  return hash.hexadecimal();
}

Fingerprint fingerprint_of(const std::filesystem::path& path) {
  std::error_code error;
  const auto size = std::filesystem::file_size(path, error);
  if (error) throw cannot_read(path, error.value());
  errno = 0;
  std::ifstream file(path, std::ios::binary);
  if (!file) throw cannot_read(path, errno);
  Fingerprint out;
  out.bytes = static_cast<std::int64_t>(size);
  out.coverage = out.bytes <= kWholeBytes ? Coverage::whole : Coverage::ends;
  Sha256 hash;
  std::vector<char> block(static_cast<std::size_t>(kBlockBytes));
  const auto add = [&](std::int64_t from, std::int64_t to) {
    file.seekg(from);
    while (from < to) {
      const auto count = std::min(kBlockBytes, to - from);
      if (!file.read(block.data(), count)) throw cannot_read(path, errno);
      hash.add(block.data(), static_cast<std::size_t>(count));
      from += count;
    }
  };
  if (out.coverage == Coverage::whole) {
    add(0, out.bytes);
  } else {
    add(0, kEndBytes);
    add(out.bytes - kEndBytes, out.bytes);
  }
  out.sha256 = hash.hexadecimal();
  return out;
}

}  // namespace lull::report

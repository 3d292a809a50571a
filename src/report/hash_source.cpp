#include "report/hash_source.h"

#include <fmt/format.h>
#include <openssl/evp.h>

#include <array>
#include <cstddef>
#include <new>

#include "report/base64.h"

namespace lull::report {

std::string hash_source(std::string_view text) {
  std::array<std::byte, 32> digest{};
  auto* out = reinterpret_cast<unsigned char*>(digest.data());
  if (EVP_Digest(text.data(), text.size(), out, nullptr, EVP_sha256(), nullptr) != 1)
    throw std::bad_alloc();
  return fmt::format("'sha256-{}'", base64(digest));
}

}  // namespace lull::report

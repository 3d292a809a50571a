// A profile, and what of a night is read back: bytes in, a value or a RunError out.
#include <cstddef>
#include <cstdint>
#include <string_view>

#include "core/error.h"
#include "night/name_facts.h"
#include "night/record.h"
#include "profile/profile.h"
#include "run/profile_options.h"

extern "C" int LLVMFuzzerTestOneInput(const std::uint8_t* data, std::size_t size) {
  using namespace lull;
  const std::string_view text(reinterpret_cast<const char*>(data), size);
  try {
    const profile::Profile profile = profile::parse_profile(text, "a.toml");
    run::check_profile_options(profile);
    static_cast<void>(night::NameReader(profile).read("2026/mars", "mars_R_10ms.ser"));
  } catch (const RunError&) {
    // What is wrong with the file was told.
  }
  static_cast<void>(night::record_in(std::string(text)));
  static_cast<void>(night::exposure_in(std::string(text)));
  return 0;
}

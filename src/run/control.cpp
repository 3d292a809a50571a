#include "run/control.h"

#include "run/memory_size.h"
#include "run/option_kinds.h"

namespace lull::run {

OptionTable<Resources> thread_options() {
  return {parsed_option<Resources>(
      {.name = "--threads",
       .value = "N",
       .group = OptionGroup::machine,
       .help = "Threads to use; 0 = all"},
      &Resources::threads,
      [](const std::string& text) {
        return static_cast<int>(whole_number_within("--threads", text, 0, 1024));
      },
      [](int threads) { return std::to_string(threads); })};
}

OptionTable<Resources> memory_options() {
  return {parsed_option<Resources>(
      {.name = "--memory",
       .value = "auto|SIZE",
       .group = OptionGroup::machine,
       .help = "Most memory to use, such as 800M or 2G"},
      &Resources::memory_bytes, parse_memory_size,
      [](std::size_t bytes) { return bytes == 0 ? std::string("auto") : std::to_string(bytes); })};
}

OptionTable<Resources> overwrite_options() {
  return {switch_option<Resources>({.name = "--overwrite",
                                    .group = OptionGroup::results,
                                    .help = "Replace files that have the names of results"},
                                   &Resources::existing, ExistingFiles::keep,
                                   ExistingFiles::replace)};
}

}  // namespace lull::run

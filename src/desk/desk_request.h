#pragma once

#include <string>

#include "run/option.h"

namespace lull::desk {

/// Whether a browser is opened where there is one.
enum class Browser { opened, left };

/// What `lull desk` is asked for.
struct DeskRequest {
  std::string folder = ".";  ///< of the captures
  std::string results;  ///< folder for results; empty: the folder `results` in that of the captures
  std::string profile;  ///< of the instrument; empty: none
  std::string listen = "127.0.0.1";
  int port = 0;  ///< 0 = any that is free
  Browser browser = Browser::opened;

  [[nodiscard]] std::string results_folder() const;
};

[[nodiscard]] const run::OptionTable<DeskRequest>& desk_options();

}  // namespace lull::desk

#pragma once

#include <string>

namespace lull::desk {

/// Opens an address in the browser of the desktop, by xdg-open (freedesktop.org), and does not wait
/// for it. @return false: there is no desktop, or no such program.
bool open_in_browser(const std::string& address);

}  // namespace lull::desk

#pragma once

#include <string>
#include <string_view>

namespace lull::draw {

/// Text as the content of an XML element or of a quoted attribute: & < > " escaped; characters
/// that XML 1.0 (W3C 2008, section 2.2) does not allow, and bytes that are not UTF-8 (RFC 3629),
/// become '?'.
[[nodiscard]] std::string xml_text(std::string_view text);

}  // namespace lull::draw

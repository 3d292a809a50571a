#pragma once

#include <nlohmann/json_fwd.hpp>
#include <string>
#include <vector>

/// File names are bytes; JSON, HTML and recipes hold UTF-8 text. Here names become text and back.
namespace lull::files {

/// A file name as text: itself where it is UTF-8. Otherwise, or where it begins with "file:", a
/// URI: "file:" and the name with percent-encoding (RFC 3986, section 2.1), such as
/// file:mond%E9.ser.
[[nodiscard]] std::string name_text(const std::string& name);

/// The same of the last part of a path.
[[nodiscard]] std::string file_name_text(const std::string& path);

/// The name that name_text() made this text of.
[[nodiscard]] std::string name_of_text(const std::string& text);

/// The same of several names.
[[nodiscard]] std::vector<std::string> name_texts(const std::vector<std::string>& names);

/// A sentence, in which a name may occur: bytes that are not UTF-8 become %HH.
[[nodiscard]] std::string utf8_text(const std::string& text);

/// JSON with utf8_text() of each of its texts. @param indent  spaces a level.
[[nodiscard]] std::string json_text(const nlohmann::json& json, int indent);

}  // namespace lull::files

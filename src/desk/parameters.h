#pragma once

#include <cstdint>
#include <map>
#include <optional>
#include <string>
#include <vector>

#include "core/geometry.h"

/// Values in the address of a request. All throw Problem 400 with the name and what is valid.
namespace lull::desk {

using Parameters = std::map<std::string, std::string>;

[[nodiscard]] std::optional<std::int64_t> whole_number(const Parameters& parameters,
                                                       const std::string& name, std::int64_t low,
                                                       std::int64_t high);

/// A whole number of decimal digits, such as the index of a frame in a path.
[[nodiscard]] std::int64_t whole_number_of(const std::string& name, const std::string& text,
                                           std::int64_t low, std::int64_t high);

[[nodiscard]] std::optional<double> number(const Parameters& parameters, const std::string& name);

/// "X,Y,W,H", of which a part at least lies within a picture of that size; that part.
[[nodiscard]] std::optional<Box> area(const Parameters& parameters, const std::string& name,
                                      Size size);

/// One of some words, the first of which is the default.
[[nodiscard]] std::string word(const Parameters& parameters, const std::string& name,
                               const std::vector<std::string>& words);

}  // namespace lull::desk

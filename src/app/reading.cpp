#include "app/reading.h"

#include <fmt/format.h>

#include <algorithm>
#include <array>

#include "app/choices.h"

namespace lull::app {

namespace {

using capture::ByteOrder;
using capture::Cfa;

std::string changed(std::string text, char from, char to) {
  for (char& c : text) {
    if (c >= from && c <= from + 25) c = static_cast<char>(c - from + to);
  }
  return text;
}

std::string upper(const std::string& text) { return changed(text, 'a', 'A'); }

std::string lower(const std::string& text) { return changed(text, 'A', 'a'); }

std::optional<Cfa> parse_cfa(const std::string& text) {
  if (lower(text) == "auto") return std::nullopt;
  std::vector<std::string> known = {"auto"};
  for (const Cfa cfa : {Cfa::none, Cfa::rggb, Cfa::bggr, Cfa::gbrg, Cfa::grbg}) {
    const std::string name(capture::cfa_name(cfa));
    if (upper(text) == upper(name)) return cfa;
    known.push_back(name);
  }
  throw no_such_choice("--cfa", text, known);
}

ByteOrder parse_byte_order(const std::string& text) {
  if (text == "auto") return ByteOrder::automatic;
  if (text == "little") return ByteOrder::little;
  if (text == "big") return ByteOrder::big;
  throw no_such_choice("--byte-order", text, {"auto", "little", "big"});
}

// All names would fill a screen, so the message gives the nearest and some that are common.
std::string parse_pixel_format(const std::string& text) {
  if (text == "auto") return {};
  const std::vector<std::string> known = capture::readable_pixel_formats();
  if (std::find(known.begin(), known.end(), text) != known.end()) return text;
  throw UsageError(
      fmt::format("--pixel-format {}: no pixel format of that name can be read.{} Use auto or one "
                  "of FFmpeg's names, such as gray, gray16le, bayer_rggb8, bgr24 or uyvy422.",
                  text, did_you_mean(text, known)));
}

}  // namespace

capture::OpenOptions reading_of(const InputOptions& options) {
  capture::OpenOptions open;
  open.decoder_threads = options.threads;
  open.cfa = parse_cfa(options.cfa);
  open.byte_order = parse_byte_order(options.byte_order);
  open.pixel_format = parse_pixel_format(options.pixel_format);
  if (open.byte_order != ByteOrder::automatic && !open.pixel_format.empty()) {
    throw UsageError(fmt::format(
        "--byte-order {} and --pixel-format {}: a pixel format has its own byte order (gray16le is "
        "little, gray16be big); leave --byte-order out",
        options.byte_order, options.pixel_format));
  }
  return open;
}

}  // namespace lull::app

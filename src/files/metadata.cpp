#include "files/metadata.h"

#include <fmt/format.h>

namespace lull::files {

namespace {

struct ValueText {
  std::string operator()(bool value) const { return value ? "true" : "false"; }

  std::string operator()(std::int64_t value) const { return fmt::format("{}", value); }

  std::string operator()(double value) const { return fmt::format("{}", value); }

  std::string operator()(const std::string& value) const { return value; }
};

}  // namespace

std::string software_name() { return "Lull " LULL_VERSION; }

std::string describe_scale(Transfer transfer, const Encoding& encoding) {
  return fmt::format("{} values: 0 stands for {}, 65535 for {}",
                     transfer == Transfer::linear ? "linear" : "stretched", encoding.black,
                     encoding.white);
}

std::string describe(const Metadata& metadata, const Encoding& encoding) {
  std::string text = metadata.description;
  if (!text.empty() && text.back() != '\n') text += '\n';
  text += describe_scale(metadata.transfer, encoding);
  for (const Card& card : metadata.cards) {
    text += fmt::format("\n{} = {}", card.key, std::visit(ValueText{}, card.value));
    if (!card.comment.empty()) text += fmt::format("  ({})", card.comment);
  }
  return text;
}

}  // namespace lull::files

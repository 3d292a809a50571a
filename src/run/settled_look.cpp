#include "run/settled_look.h"

#include <fmt/format.h>

#include "core/error.h"
#include "run/stack_header.h"

namespace lull::run {

namespace {

bool undoes_air(const Look& look) {
  return std::holds_alternative<finish::UndoAir>(detail_plan(look).how);
}

// Without half stacks, or without the comparison with its frames, a picture does not show its blur.
void settle_detail(const FinishInput& input, Look& look, std::vector<std::string>& notes) {
  if (!undoes_air(look)) return;
  if (!input.has_halves) {
    notes.emplace_back(
        "detail is left unchanged: the blur of this picture is not known. Use the .linear.fits of "
        "lull stack, or give --blur PX or --detail SIZE:GAIN,...");
    look.detail = LeaveDetail{};
  } else if (input.measured.ratio.empty()) {
    notes.emplace_back(
        "the stack was not compared with its frames (--finish none), so a typical blur is undone; "
        "stack with --finish auto to measure it");
  }
}

// What the stack shows, as it says itself unless the user does.
void settle_object(const FinishInput& input, Look& look) {
  if (look.object != Object::unspecified) return;
  const auto* word = find_card<std::string>(input.cards, "OBJECT");
  if (word == nullptr) return;
  for (const auto& [object, name] : object_words()) {
    if (name == *word) look.object = object;
  }
}

// A second stretch would hide that it is one.
void check_tone(const Look& look, const FinishInput& input, const std::string& name) {
  if (!input.stretched || look.tone == finish::Tone::linear) return;
  throw UsageError(fmt::format(
      "--tone: {} is already stretched; finish the linear stack instead, or leave out the option",
      name));
}

}  // namespace

Look settled_look(const Look& asked, const FinishInput& input, const std::string& name,
                  std::vector<std::string>& notes) {
  return settled_look(asked, input, input.picture.channels.size(), name, notes);
}

Look settled_look(const Look& asked, const FinishInput& input, std::size_t channels,
                  const std::string& name, std::vector<std::string>& notes) {
  check_colours(asked, channels, name);
  check_tone(asked, input, name);
  Look look = asked;
  settle_object(input, look);
  check_white_balance(look.white_balance, look.object);
  settle_detail(input, look, notes);
  return look;
}

}  // namespace lull::run

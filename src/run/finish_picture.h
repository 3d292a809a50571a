#pragma once

#include <filesystem>
#include <nlohmann/json.hpp>
#include <string>
#include <vector>

#include "draw/annotate.h"
#include "files/metadata.h"
#include "files/picture.h"
#include "finish/levels.h"
#include "finish/limb.h"
#include "finish/pose.h"
#include "finish/white_balance.h"
#include "run/look.h"

namespace lull::run {

/// A finished picture, and how it becomes integers.
struct Finished {
  files::Picture picture;
  files::Encoding encoding;
  files::Transfer transfer = files::Transfer::linear;  ///< screen: values are from 0 to 1
  finish::Pose pose;      ///< in which it is written; `picture` itself is as the camera holds it
  finish::Levels levels;  ///< of light that is shown: --black and --white, or finish::levels_of()
  nlohmann::json figures = nlohmann::json::object();  ///< for the recipe and --json
};

/// One line on how a picture of 16 bits in linear light will look, and on what is for viewing;
/// empty for others. @param share  the copy to share; empty = none.
[[nodiscard]] std::string viewing_hint(const std::string& picture, const std::string& share,
                                       const Finished& finished);

/// All steps from the linear stack to the picture, for both `stack` and `finish`.
/// @param stack     1 or 3 channels, linear.
/// @param measured  of the stack.
/// @throws NothingUsable when a limb is to be flattened and there is none.
[[nodiscard]] Finished finish_picture(const files::PictureView& stack,
                                      const finish::Measurements& measured, const Look& look);

/// How the colours of a picture are balanced.
struct ColourBalance {
  finish::WhiteBalance factors = {1, 1, 1};
  finish::Light sky = {};
};

/// As measured on the whole stack, linear, or on a reduced copy of it.
[[nodiscard]] ColourBalance colour_balance(const Look& look, const files::PictureView& stack);

/// Red and blue moved by hand. @param out  restored.
void finish_channels(const Look& look, Finished& out);

/// The steps that change each pixel by itself, for a picture or a part of it: colours balanced, and
/// saturation.
void finish_colours(const Look& look, const ColourBalance& balance, Finished& out);

/// How light becomes what is written, all of Finished but its picture.
/// @param seen  finish::levels_of() the whole. @param brightest  sample of the whole.
void settle_tone(const Look& look, const finish::Levels& seen, double brightest, Finished& out);

/// The last step, from light to what is written. @param seen  finish::levels_of() the whole.
void finish_tone(const Look& look, const finish::Levels& seen, Finished& out);

/// The largest sample; 0 at least.
[[nodiscard]] double brightest_of(const files::Picture& picture);

/// Where the edge of a disc lies in a stack, for --flatten-limb. @param shown  linear.
/// @throws NothingUsable where there is none.
[[nodiscard]] Circle limb_to_flatten(const files::PictureView& shown);

/// @throws NothingUsable for samples that are not finite: values near the largest that floats hold
/// overflow when they are filtered.
void require_finite(const files::Picture& picture);

/// As the recipe holds it.
[[nodiscard]] nlohmann::json limb_json(const Circle& limb);

/// Gains and blur, where there are any.
void add_detail_figures(const finish::Restored& restored, nlohmann::json& figures);

/// What the header of a finished picture holds.
[[nodiscard]] files::Metadata finished_metadata(const Finished& finished,
                                                const std::vector<files::Card>& cards,
                                                const Look& look);

/// The picture as it is written.
[[nodiscard]] files::Picture posed(const Finished& finished);

/// Writes it in the format of its name.
/// @param cards  of the stack. @param look  of the picture.
/// @return what the 16-bit encoding had to clamp. @throws OutputError.
files::Clipped write_finished(const std::filesystem::path& path, const Finished& finished,
                              const std::vector<files::Card>& cards, const Look& look);

/// The copy for screens, by the sRGB curve where the picture is linear, with notes under it.
[[nodiscard]] files::Picture shared_copy(const Finished& finished, const draw::Annotation& notes);

/// Writes it in the format of its name. @param caption  of the notes.
/// @param cards  of the stack: when it was recorded. @throws OutputError.
void write_shared(const std::filesystem::path& path, const files::Picture& copy,
                  const std::string& caption, const std::vector<files::Card>& cards);

}  // namespace lull::run

#include "capture/image_sequence.h"

#include <fmt/format.h>

#include <algorithm>
#include <charconv>
#include <filesystem>
#include <string_view>

#include "capture/container.h"
#include "capture/fits_image.h"
#include "capture/fits_source.h"
#include "capture/limits.h"
#include "core/cancel.h"
#include "core/error.h"
#include "files/failure.h"
#include "files/fits_cards.h"

namespace lull::capture {

namespace {

constexpr std::int64_t kMaxPictureBytes = std::int64_t{1} << 31;
// Where fewer of the numbers are taken, they are no count: they may be times.
constexpr std::int64_t kMostGaps = 9;
constexpr std::int64_t kFewGaps = 1000;

/// Number of a file whose name fits the pattern.
[[nodiscard]] std::optional<std::int64_t> number_in(const SequencePattern& pattern,
                                                    std::string_view name) {
  const auto digits = pattern.digits_in(name);
  if (!digits) return std::nullopt;
  std::int64_t number = 0;
  const char* last = digits->data() + digits->size();
  const auto [end, error] = std::from_chars(digits->data(), last, number);
  if (error != std::errc() || end != last) return std::nullopt;
  // "1" and "0001" are different files; only the one that the pattern makes belongs to it.
  if (fmt::format("{:0{}}", number, pattern.digits) != *digits) return std::nullopt;
  return number;
}

/// Numbers that exist, rising.
[[nodiscard]] std::vector<std::int64_t> numbers_of(const SequencePattern& pattern) {
  std::vector<std::int64_t> numbers;
  std::error_code error;
  const std::filesystem::path folder = pattern.folder.empty() ? "." : pattern.folder;
  for (std::filesystem::directory_iterator entry(folder, error), end; !error && entry != end;
       entry.increment(error)) {
    stop_if_cancelled();
    if (const auto number = number_in(pattern, entry->path().filename().string())) {
      numbers.push_back(*number);
    }
  }
  std::sort(numbers.begin(), numbers.end());
  return numbers;
}

/// Reads a whole picture file. @return false if it is missing, empty or too large: a damaged frame.
/// @throws files::ReadError.
[[nodiscard]] bool read_file(const std::string& path, AVPacket& packet) {
  try {
    InputFile file(path);
    if (file.size_bytes() > kMaxPictureBytes) return false;
    if (av_new_packet(&packet, static_cast<int>(file.size_bytes())) < 0) throw std::bad_alloc();
    const auto bytes =
        std::as_writable_bytes(std::span(packet.data, static_cast<std::size_t>(packet.size)));
    const bool whole = file.read_at(0, bytes) == packet.size;
    file.throw_if_failed();
    return whole;
  } catch (const files::ReadError&) {
    throw;  // the disk failed: no damaged frame
  } catch (const InputError&) {
    return false;
  }
}

class SequenceSource final : public PacketSource {
 public:
  /// @param paths  one a frame; an empty one is missing.
  SequenceSource(std::vector<std::string> paths, CodecParameters codec, StreamFacts facts)
      : paths_(std::move(paths)), codec_(std::move(codec)), facts_(std::move(facts)) {}

  [[nodiscard]] const StreamFacts& facts() const override { return facts_; }

  [[nodiscard]] const AVCodecParameters& codec() const override { return *codec_; }

  [[nodiscard]] bool read(AVPacket& packet) override {
    av_packet_unref(&packet);
    if (position_ >= static_cast<PacketIndex>(paths_.size())) return false;
    const std::string& path = paths_[static_cast<std::size_t>(position_)];
    if (path.empty() || !read_file(path, packet)) {
      av_packet_unref(&packet);
      packet.flags |= AV_PKT_FLAG_CORRUPT;
    }
    packet.flags |= AV_PKT_FLAG_KEY;
    packet.pts = packet.dts = position_;
    ++position_;
    return true;
  }

  [[nodiscard]] PacketIndex position() const override { return position_; }

  [[nodiscard]] bool go_to(PacketIndex index) override {
    position_ = std::min(index, static_cast<PacketIndex>(paths_.size()));
    return position_ == index && index < static_cast<PacketIndex>(paths_.size());
  }

  [[nodiscard]] PacketIndex key_before(PacketIndex index) const override { return index; }

  [[nodiscard]] double time_s(PacketIndex /*index*/) const override { return -1; }

 private:
  std::vector<std::string> paths_;
  CodecParameters codec_;
  StreamFacts facts_;
  PacketIndex position_ = 0;
};

/// Codec of a picture file, by its content.
[[nodiscard]] CodecParameters codec_of_picture(const std::string& path) {
  InputFile file(path);
  const AVInputFormat& demuxer = find_demuxer(file);
  if (!std::string_view(demuxer.name).ends_with("_pipe")) {
    throw InputError(
        fmt::format("{}: is not a picture that can be read as part of a numbered sequence. Use "
                    "PNG, TIFF or FITS.",
                    path));
  }
  const Container container(file, demuxer);
  auto codec = owned<CodecParameters>(avcodec_parameters_alloc());
  if (avcodec_parameters_copy(codec.get(), container.video().codecpar) < 0) throw std::bad_alloc();
  return codec;
}

[[nodiscard]] StreamFacts facts_of(std::size_t pictures) {
  StreamFacts facts;
  facts.container = "image2";
  facts.header_frames = static_cast<std::int64_t>(pictures);
  return facts;
}

}  // namespace

std::unique_ptr<PacketSource> open_sequence(const SequencePattern& pattern,
                                            const std::string& shown_path) {
  const std::vector<std::int64_t> numbers = numbers_of(pattern);
  if (numbers.empty()) {
    throw InputError(
        fmt::format("{}: no picture matches the pattern, such as {}. Check the folder, the name "
                    "and the number of digits.",
                    shown_path, pattern.path_of(1)));
  }
  const std::int64_t span = numbers.back() - numbers.front() + 1;
  const auto count = static_cast<std::int64_t>(numbers.size());
  check_frame_count(shown_path, count);
  // Missing numbers are frames that were lost, unless most are missing.
  const bool counted = span - count <= std::max(kFewGaps, kMostGaps * count);
  std::vector<std::string> paths(static_cast<std::size_t>(counted ? span : count));
  for (std::size_t i = 0; i < numbers.size(); ++i) {
    const std::size_t at = counted ? static_cast<std::size_t>(numbers[i] - numbers.front()) : i;
    paths[at] = pattern.path_of(numbers[i]);
  }
  if (paths.size() > 1 && files::is_fits(paths.front()))
    return open_fits(std::move(paths), shown_path);
  StreamFacts facts = facts_of(numbers.size());
  const std::int64_t missing = span - count;
  if (!counted) {
    facts.notes.push_back(
        fmt::format("{} pictures have numbers from {} to {}: they are taken in that order, and "
                    "gaps do not count as missing frames",
                    count, numbers.front(), numbers.back()));
  } else if (missing > 0) {
    facts.notes.push_back(fmt::format("{} of the pictures from {} to {} are missing", missing,
                                      numbers.front(), numbers.back()));
  }
  CodecParameters codec = codec_of_picture(paths.front());
  return std::make_unique<SequenceSource>(std::move(paths), std::move(codec), std::move(facts));
}

std::unique_ptr<PacketSource> open_picture(const std::string& path) {
  return std::make_unique<SequenceSource>(std::vector{path}, codec_of_picture(path), facts_of(1));
}

}  // namespace lull::capture

#include <fmt/format.h>

#include <algorithm>
#include <array>
#include <new>
#include <optional>
#include <span>
#include <string_view>

#include "capture/container.h"
#include "capture/fits_image.h"
#include "capture/fits_source.h"
#include "capture/image_sequence.h"
#include "capture/limits.h"
#include "capture/packet_source.h"
#include "capture/placed_frames.h"
#include "capture/rotation.h"
#include "capture/ser_header.h"
#include "core/cancel.h"
#include "core/error.h"
#include "files/fits_cards.h"

namespace lull::capture {

namespace {

/// Reading on is cheaper than a seek up to this many packets.
constexpr PacketIndex kReadOnPackets = 3;
/// Packets that a seek may land before its goal; key frames of one cluster.
constexpr int kSearchPackets = 10'000;
/// Failed reads in a row before the rest of the file is given up.
constexpr int kMaxFailedReads = 64;

/// What identifies a packet after a seek.
struct PacketMark {
  std::int64_t position = -1;  ///< byte of the file
  std::int64_t pts = kNoTime;
  std::int64_t dts = kNoTime;
  bool is_key = false;

  [[nodiscard]] bool same_packet(const PacketMark& other) const {
    return position == other.position && pts == other.pts && dts == other.dts;
  }
};

[[nodiscard]] PacketMark mark_of(const AVPacket& packet) {
  return {packet.pos, packet.pts, packet.dts, (packet.flags & AV_PKT_FLAG_KEY) != 0};
}

class ContainerSource final : public PacketSource {
 public:
  ContainerSource(std::unique_ptr<InputFile> file, const AVInputFormat& demuxer,
                  std::optional<SerFile> ser)
      : file_(std::move(file)), demuxer_(demuxer), ser_(std::move(ser)) {
    reopen();
    read_facts();
    if (ser_) {
      // libav's demuxer of SER finds a frame only by reading all before it.
      placed_.emplace(*file_, static_cast<int>(ser_->frame_bytes));
      placed_count_ = ser_->frames;
    } else if (codec().codec_id == AV_CODEC_ID_RAWVIDEO) {
      place_frames();
    }
  }

  [[nodiscard]] const StreamFacts& facts() const override { return facts_; }

  [[nodiscard]] const AVCodecParameters& codec() const override {
    return *container_->video().codecpar;
  }

  [[nodiscard]] bool read(AVPacket& packet) override;

  [[nodiscard]] PacketIndex position() const override { return position_; }

  [[nodiscard]] bool go_to(PacketIndex index) override;

  [[nodiscard]] PacketIndex key_before(PacketIndex index) const override {
    while (index > 0 && !mark(index).is_key) --index;
    return index;
  }

  [[nodiscard]] double time_s(PacketIndex index) const override;

 private:
  void reopen() {
    container_.reset();
    container_ = std::make_unique<Container>(*file_, demuxer_);
    position_ = 0;
    held_ = false;
  }

  void read_facts();
  void place_frames();
  [[nodiscard]] bool ends_with_marks();
  [[nodiscard]] PacketMark mark(PacketIndex index) const;
  void read_begin();
  void read_timecode();
  void read_rotation();
  [[nodiscard]] bool demux(AVPacket& packet);
  [[nodiscard]] bool read_placed(AVPacket& packet);
  [[nodiscard]] bool seek(PacketIndex index);

  std::unique_ptr<InputFile> file_;
  const AVInputFormat& demuxer_;
  std::optional<SerFile> ser_;
  StreamFacts facts_;
  std::unique_ptr<Container> container_;
  std::vector<PacketMark> marks_;       ///< of every packet that was passed
  std::optional<PlacedFrames> placed_;  ///< where all frames are found without libav
  PacketIndex placed_count_ = 0;
  PacketIndex position_ = 0;
  Packet pending_ = owned<Packet>(av_packet_alloc());  ///< found by a seek, not yet read
  bool held_ = false;
  bool seeks_ = true;  ///< false once a seek has missed
};

void ContainerSource::read_facts() {
  const AVStream& video = container_->video();
  facts_.container = demuxer_.name;
  facts_.time_base = video.time_base;
  facts_.header_frames = std::max<std::int64_t>(video.nb_frames, 0);
  if (const std::int64_t duration = container_->context().duration; duration > 0)
    facts_.duration_s = static_cast<double>(duration) / AV_TIME_BASE;
  facts_.bits_per_sample = video.codecpar->bits_per_raw_sample;
  if (ser_) {
    facts_.times = ser_->times;
    facts_.header_frames = ser_->header_frames;
    facts_.bits_per_sample = ser_->depth_bits;
    facts_.notes = ser_->notes;
  } else if (video.avg_frame_rate.num > 0 && video.avg_frame_rate.den > 0) {
    facts_.times.frames_per_s = av_q2d(video.avg_frame_rate);
  } else if (video.r_frame_rate.num > 0 && video.r_frame_rate.den > 0) {
    facts_.times.frames_per_s = av_q2d(video.r_frame_rate);
  }
  read_begin();
  read_timecode();
  const AVRational shape = video.sample_aspect_ratio.num > 0 ? video.sample_aspect_ratio
                                                             : video.codecpar->sample_aspect_ratio;
  if (shape.num > 0 && shape.den > 0 && shape.num != shape.den) {
    facts_.notes.push_back(
        fmt::format("the file states pixels that are not square ({}:{}); this is ignored",
                    shape.num, shape.den));
  }
  read_rotation();
}

/// The place of each frame of a SER file follows from its header.
PacketMark ContainerSource::mark(PacketIndex index) const {
  if (ser_) return {ser_->frames_at + index * ser_->frame_bytes, index, index, true};
  return marks_[static_cast<std::size_t>(index)];
}

/// Raw frames in AVI follow each other, and its index lists them. As far as each entry begins where
/// the one before ends, none is left out between them, so that entry n is frame n. How libav counts
/// bytes and times of packets is seen in the first two.
void ContainerSource::place_frames() {
  AVStream& video = container_->video();
  const int entries = avformat_index_get_entries_count(&video);
  if (entries < 3 || std::string_view(demuxer_.name) != "avi") return;
  const auto packet = owned<Packet>(av_packet_alloc());
  std::array<PacketMark, 2> first;
  bool plain = true;
  for (PacketMark& mark : first) {
    if (!demux(*packet)) break;
    mark = mark_of(*packet);
    plain = plain && packet->side_data_elems == 0;  // no palette
  }
  const auto entry = [&video](int i) { return avformat_index_get_entry(&video, i); };
  const int bytes = entry(0)->size;
  const std::int64_t ahead = first[0].position - entry(0)->pos;
  const std::int64_t step = entry(1)->pos - entry(0)->pos;
  const bool as_seen = first[1].position - entry(1)->pos == ahead && step > bytes &&
                       first[0].dts == entry(0)->timestamp && first[1].dts == entry(1)->timestamp &&
                       (first[0].pts == kNoTime || first[0].pts == first[0].dts);
  std::vector<PacketMark> marks;
  for (int i = 0; i < entries && as_seen; ++i) {
    stop_if_cancelled();
    const AVIndexEntry& here = *entry(i);
    if (here.size != bytes || here.pos != entry(0)->pos + i * step ||
        here.pos + ahead + here.size > file_->size_bytes() || (here.flags & AVINDEX_KEYFRAME) == 0)
      break;
    const std::int64_t pts = first[0].pts == kNoTime ? kNoTime : here.timestamp;
    marks.push_back({here.pos + ahead, pts, here.timestamp, true});
  }
  const bool all = std::ssize(marks) == entries;
  if (marks.size() > 2) marks_ = std::move(marks);
  if (plain && all && ends_with_marks() && packet->size == bytes) {
    placed_.emplace(*file_, bytes);
    placed_count_ = std::ssize(marks_);
  }
  reopen();
}

/// Does libav find no packet after the last one whose mark is known?
bool ContainerSource::ends_with_marks() {
  return seek(std::ssize(marks_) - 1) && !demux(*pending_);
}

/// Start of the recording: from the SER header before, else from metadata, which libav gives in one
/// form, "2022-09-28T22:13:20.000000Z".
void ContainerSource::read_begin() {
  if (ser_) return;
  facts_.times.known = facts_.times.frames_per_s > 0;
  for (const AVDictionary* texts : {container_->video().metadata, container_->context().metadata}) {
    const AVDictionaryEntry* entry = av_dict_get(texts, "creation_time", nullptr, 0);
    const auto moment = entry == nullptr ? std::nullopt : parse_iso8601(entry->value);
    if (!moment || !is_plausible(*moment)) continue;
    facts_.times.begun = moment;
    facts_.times.begun_source = "date of recording in the file";
    return;
  }
}

/// Hours, minutes, seconds and frames, as SMPTE ST 12-1 writes them (from memory): "01:00:03:12", a
/// semicolon before the frames where some are counted over. Damaged files hold anything.
bool is_timecode(const std::string& text) {
  constexpr std::string_view kForm = "00:00:00:00";
  if (text.size() != kForm.size()) return false;
  for (std::size_t i = 0; i < text.size(); ++i) {
    const bool digit = text[i] >= '0' && text[i] <= '9';
    const bool mark = text[i] == ':' || (i == 8 && (text[i] == ';' || text[i] == '.'));
    if (kForm[i] == '0' ? !digit : !mark) return false;
  }
  return true;
}

/// The time code of the recorder, which is not UTC; MOV and MP4 keep it in a separate track.
void ContainerSource::read_timecode() {
  std::vector<const AVDictionary*> all = {container_->video().metadata,
                                          container_->context().metadata};
  const AVFormatContext& file = container_->context();
  for (unsigned i = 0; i < file.nb_streams; ++i) all.push_back(file.streams[i]->metadata);
  for (const AVDictionary* texts : all) {
    const AVDictionaryEntry* entry = av_dict_get(texts, "timecode", nullptr, 0);
    if (entry == nullptr || !is_timecode(entry->value)) continue;
    facts_.times.timecode = entry->value;
    return;
  }
}

void ContainerSource::read_rotation() {
  const std::uint8_t* matrix =
      av_stream_get_side_data(&container_->video(), AV_PKT_DATA_DISPLAYMATRIX, nullptr);
  if (matrix == nullptr) return;
  const auto quarters = quarters_of_display_matrix(matrix);
  if (!quarters) {
    facts_.notes.push_back(
        "the file states a mirrored picture or an odd angle of rotation; this is ignored");
    return;
  }
  facts_.quarters = *quarters;
}

bool ContainerSource::read_placed(AVPacket& packet) {
  if (position_ >= placed_count_) return false;
  const PacketMark here = mark(position_);
  if (!placed_->read(here.position, packet)) return false;
  packet.pts = here.pts;
  packet.dts = here.dts;
  ++position_;
  return true;
}

bool ContainerSource::demux(AVPacket& packet) {
  for (int failed = 0; failed < kMaxFailedReads;) {
    stop_if_cancelled();
    av_packet_unref(&packet);
    const int error = av_read_frame(&container_->context(), &packet);
    if (error >= 0) {
      if (packet.stream_index == container_->video().index && packet.size > 0) return true;
      continue;
    }
    file_->throw_if_failed();
    if (error == kEndOfStream || error == kTryAgain) return false;
    ++failed;  // damaged structure: demuxers look for the next place where they can go on
  }
  return false;
}

bool ContainerSource::read(AVPacket& packet) {
  if (placed_) return read_placed(packet);
  if (held_) {
    av_packet_unref(&packet);
    av_packet_move_ref(&packet, pending_.get());
    held_ = false;
  } else if (!demux(packet)) {
    return false;
  }
  if (position_ == static_cast<PacketIndex>(marks_.size())) {
    check_frame_count(file_->path(), position_ + 1);
    marks_.push_back(mark_of(packet));
  }
  ++position_;
  return true;
}

bool ContainerSource::seek(PacketIndex index) {
  const PacketMark goal = mark(index);
  const std::int64_t time = goal.dts != kNoTime ? goal.dts : goal.pts;
  if (time == kNoTime) return false;
  held_ = false;
  if (av_seek_frame(&container_->context(), container_->video().index, time, AVSEEK_FLAG_BACKWARD) <
      0) {
    return false;
  }
  for (int i = 0; i < kSearchPackets && demux(*pending_); ++i) {
    const PacketMark here = mark_of(*pending_);
    if (here.same_packet(goal)) {
      held_ = true;
      position_ = index;
      return true;
    }
    if (here.position > goal.position && goal.position >= 0) return false;
  }
  return false;
}

bool ContainerSource::go_to(PacketIndex index) {
  if (placed_) {
    position_ = std::clamp<PacketIndex>(index, 0, placed_count_);
    return position_ == index;
  }
  const bool passed = index < static_cast<PacketIndex>(marks_.size());
  const bool read_on = index >= position_ && index <= position_ + kReadOnPackets;
  if (passed && !read_on && seeks_) {
    if (seek(index)) return true;
    seeks_ = false;
    reopen();
  }
  if (index < position_) reopen();
  const auto skipped = owned<Packet>(av_packet_alloc());
  while (position_ < index) {
    if (!read(*skipped)) return false;
  }
  return true;
}

double ContainerSource::time_s(PacketIndex index) const {
  const auto at = static_cast<std::size_t>(index);
  if (ser_) {
    if (at >= ser_->ticks.size()) return -1;
    return static_cast<double>(ser_->ticks[at] - ser_->ticks[0]) * 1e-7;
  }
  if (at >= marks_.size() || marks_[at].pts == kNoTime || marks_[0].pts == kNoTime) return -1;
  return static_cast<double>(marks_[at].pts - marks_[0].pts) *
         av_q2d(container_->video().time_base);
}

}  // namespace

std::unique_ptr<PacketSource> open_container(const std::string& path, const OpenOptions& options) {
  auto file = std::make_unique<InputFile>(path);
  if (files::is_fits(path)) return open_fits({path}, path);
  const AVInputFormat& demuxer = find_demuxer(*file);
  const std::string_view name = demuxer.name;
  if (name.ends_with("_pipe")) return open_picture(path);
  std::optional<SerFile> ser;
  if (name == "ser") ser = repair_ser(*file, options.byte_order);
  auto source = std::make_unique<ContainerSource>(std::move(file), demuxer, std::move(ser));
  const AVCodecParameters& codec = source->codec();
  if (codec.width != 0 || codec.height != 0) check_size(path, {codec.width, codec.height});
  return source;
}

}  // namespace lull::capture

// Covers: capture/frame_stream, capture/decode_log
#include <doctest/doctest.h>

#include <algorithm>
#include <cstring>
#include <filesystem>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/damage") {
  namespace {

  constexpr int kFrames = 20;
  constexpr std::size_t kPixels = std::size_t{64} * 48;

  /// Byte and length of chunks "00dc" (or "00db") of an AVI file, from its "movi" list on: 4 bytes
  /// name, 4 bytes length, data, even padding (RIFF; from memory).
  struct Chunk {
    std::size_t data = 0;
    std::size_t length = 0;
  };

  std::vector<Chunk> chunks_of(const Bytes& file) {
    std::vector<Chunk> chunks;
    std::size_t at = find_text(file, "movi");
    REQUIRE(at != SIZE_MAX);
    at += 4;
    while (at + 8 < file.size() && file[at] == std::byte{'0'} && file[at + 1] == std::byte{'0'}) {
      std::size_t length = 0;
      for (std::size_t i = 0; i < 4; ++i) {
        length |= std::to_integer<std::size_t>(file[at + 4 + i]) << (8 * i);
      }
      chunks.push_back({at + 8, length});
      at += 8 + length + (length & 1);
    }
    return chunks;
  }

  void spoil(Bytes& file, std::size_t from, std::size_t count) {
    for (std::size_t i = 0; i < count; ++i) file[from + i] ^= std::byte{0x5A};
  }

  /// Indices of damaged frames, as in "3 17".
  std::string damaged_of(const std::vector<Bytes>& frames) {
    std::string indices;
    for (std::size_t i = 0; i < frames.size(); ++i) {
      if (frames[i].empty()) indices += (indices.empty() ? "" : " ") + std::to_string(i);
    }
    return indices;
  }

  std::vector<Bytes> read_all(const std::string& path, int threads,
                              Capture::Tally* tally = nullptr) {
    const auto capture = Capture::open(path, {.decoder_threads = threads});
    auto frames = all_frames(*capture);
    if (tally != nullptr) *tally = capture->tally();
    return frames;
  }

  }  // namespace

  // libav replaces an FFV1 slice with a bad checksum by that of the frame before, and reports it in
  // its log only (tried with FFmpeg 5.1).
  TEST_CASE("an FFV1 frame with a bad slice checksum is damaged, the others are untouched") {
    for (const int threads : {1, 4}) {
      for (const std::string name : {"ffv1.avi", "ffv1.mkv"}) {
        CAPTURE(threads);
        CAPTURE(name);
        const TemporaryFolder folder;
        const std::string avi = folder.file("spoiled.avi");
        const std::string path = folder.file(name);
        VideoFormat format{.codec = "ffv1"};
        format.codec_options = {{"level", "3"}, {"slicecrc", "1"}, {"slices", "4"}};
        const auto pictures = pictures_8(kFrames, kPixels, 64);
        write_video(path, format, pictures);
        Bytes file = read_file(path);
        if (name == "ffv1.avi") {
          const Chunk chunk = chunks_of(file).at(7);
          spoil(file, chunk.data + chunk.length / 2, 8);
        } else {
          write_video(avi, format, pictures);  // the same coded frames, where they are easy to find
          const Bytes easy = read_file(avi);
          const Chunk chunk = chunks_of(easy).at(7);
          const auto begin = easy.begin() + static_cast<std::ptrdiff_t>(chunk.data);
          const auto found = std::search(file.begin(), file.end(), begin, begin + 64);
          REQUIRE(found != file.end());
          spoil(file, static_cast<std::size_t>(found - file.begin()) + chunk.length / 2, 8);
        }
        write_file(path, file);
        Capture::Tally tally;
        auto frames = read_all(path, threads, &tally);
        CHECK(damaged_of(frames) == "7");
        CHECK(tally.frames == kFrames);
        CHECK(tally.damaged == 1);
        REQUIRE(frames.size() == kFrames);
        frames[7] = pictures[7];
        CHECK(frames == pictures);
      }
    }
  }

  TEST_CASE("in FFV1 groups, what follows a damaged frame is damaged up to the next key frame") {
    const TemporaryFolder folder;
    const std::string path = folder.file("groups.avi");
    VideoFormat format{.codec = "ffv1", .group = 6};
    format.codec_options = {{"level", "3"}, {"slicecrc", "1"}};
    write_video(path, format, pictures_8(kFrames, kPixels, 64));
    Bytes file = read_file(path);
    const Chunk chunk = chunks_of(file).at(8);
    spoil(file, chunk.data + chunk.length / 2, 8);
    write_file(path, file);
    CHECK(damaged_of(read_all(path, 1)) == "8 9 10 11");
    const auto capture = Capture::open(path);
    CHECK_FALSE(capture->at(10).ok());
    CHECK(capture->at(12).ok());
    CHECK(capture->at(7).ok());
    const auto again = capture->at(9);
    REQUIRE_FALSE(again.ok());
    CHECK(again.reason() == Reject::damaged);
  }

  // Decoders with frame threads report a bad packet several packets later (tried, FFmpeg 5.1).
  TEST_CASE("a spoiled PNG is the damaged frame, whatever the number of threads") {
    for (const int threads : {1, 2, 4, 8}) {
      CAPTURE(threads);
      const TemporaryFolder folder;
      const std::string pattern = folder.file("moon_%03d.png");
      const auto pictures = pictures_8(kFrames, kPixels, 64);
      write_video(pattern, {.codec = "png", .container = "image2"}, pictures);
      for (const std::string number : {"004", "018", "020"}) {  // numbers begin at 1
        const std::string path = folder.file("moon_" + number + ".png");
        Bytes file = read_file(path);
        if (number == "018") {
          file.resize(file.size() / 3);  // cut off
        } else {
          spoil(file, file.size() / 2, 4);
        }
        write_file(path, file);
      }
      auto frames = read_all(pattern, threads);
      CHECK(damaged_of(frames) == "3 17 19");
      const auto capture = Capture::open(pattern, {.decoder_threads = threads});
      for (const FrameIndex index : {17, 3, 19, 4}) {
        CAPTURE(index);
        CHECK(capture->at(index).ok() == (index == 4));
      }
      for (const std::size_t i : {3U, 17U, 19U}) frames[i] = pictures[i];
      CHECK(frames == pictures);
    }
  }

  TEST_CASE("a spoiled MJPEG frame is damaged, its neighbours are not") {
    const TemporaryFolder folder;
    const std::string path = folder.file("motion.avi");
    write_video(path, {.codec = "mjpeg", .pixel_format = "yuvj444p"},
                pictures_8(kFrames, 3 * kPixels, 64));
    const auto whole = read_all(path, 1);
    Bytes file = read_file(path);
    const Chunk cut = chunks_of(file).at(5);
    for (std::size_t i = cut.length / 2; i < cut.length; ++i) file[cut.data + i] = std::byte{0};
    const Chunk no_header = chunks_of(file).at(11);
    for (std::size_t i = 0; i < 200; ++i) file[no_header.data + i] = std::byte{0};
    write_file(path, file);
    auto frames = read_all(path, 1);
    CHECK(damaged_of(frames) == "5 11");
    REQUIRE(frames.size() == whole.size());
    for (const std::size_t i : {5U, 11U}) frames[i] = whole[i];
    CHECK(frames == whole);
  }

  TEST_CASE("a raw AVI cut off within a frame gives every whole frame before it") {
    const TemporaryFolder folder;
    const std::string path = folder.file("raw.avi");
    const auto pictures = pictures_8(kFrames, kPixels, 64);
    write_video(path, {}, pictures);
    Bytes file = read_file(path);
    file.resize(chunks_of(file).at(12).data + kPixels / 2);
    write_file(path, file);
    auto frames = read_all(path, 1);
    REQUIRE(frames.size() >= 12);
    CHECK(frames.size() <= 13);
    if (frames.size() == 13) CHECK(frames[12].empty());
    frames.resize(12);
    CHECK(std::equal(frames.begin(), frames.end(), pictures.begin()));
  }

  TEST_CASE("a raw frame that is too short is damaged; a chunk of no length is no frame") {
    const TemporaryFolder folder;
    const std::string path = folder.file("raw.avi");
    const auto pictures = pictures_8(kFrames, kPixels, 64);
    write_video(path, {}, pictures);
    Bytes file = read_file(path);
    // The frame's chunk becomes a shorter one and a JUNK chunk that fills its place.
    const auto shorten = [&](std::size_t index, std::size_t length) {
      const Chunk chunk = chunks_of(read_file(path)).at(index);
      put_integer(file, chunk.data - 4, static_cast<std::int32_t>(length));
      const char junk[] = {'J', 'U', 'N', 'K'};
      std::memcpy(file.data() + chunk.data + length, junk, 4);
      put_integer(file, chunk.data + length + 4, static_cast<std::int32_t>(kPixels - length - 8));
    };
    shorten(4, kPixels / 2);
    shorten(9, 0);
    file.resize(find_text(file, "idx1"));  // the index would hold the old lengths
    write_file(path, file);
    auto frames = read_all(path, 1);
    REQUIRE(frames.size() == kFrames - 1);
    CHECK(damaged_of(frames) == "4");
    CHECK(frames[9] == pictures[10]);
  }

  TEST_CASE("a spoiled H.264 packet costs frames up to the next key frame, and no other") {
    for (const int threads : {1, 4}) {
      CAPTURE(threads);
      const TemporaryFolder folder;
      const std::string path = folder.file("h264.avi");
      write_video(path, {.codec = "libx264", .pixel_format = "yuv420p", .group = 5},
                  pictures_8(kFrames, kPixels * 3 / 2, 64));
      const auto whole = read_all(path, threads);
      REQUIRE(whole.size() == kFrames);
      Bytes file = read_file(path);
      const Chunk chunk = chunks_of(file).at(11);
      spoil(file, chunk.data + chunk.length / 2, chunk.length / 2);
      write_file(path, file);
      auto frames = read_all(path, threads);
      CHECK(damaged_of(frames) == "11 12 13 14");
      REQUIRE(frames.size() == kFrames);
      for (std::size_t i = 11; i < 15; ++i) frames[i] = whole[i];
      CHECK(frames == whole);
    }
  }

  TEST_CASE("a packet that gives no picture at all costs its group too") {
    for (const std::string codec : {"libx264", "ffv1"}) {
      for (const int threads : {1, 4}) {
        CAPTURE(codec);
        CAPTURE(threads);
        const TemporaryFolder folder;
        const std::string path = folder.file("groups.avi");
        VideoFormat format{.codec = codec, .pixel_format = "yuv420p", .group = 5};
        if (codec == "ffv1") format.codec_options = {{"level", "3"}, {"slicecrc", "1"}};
        write_video(path, format, pictures_8(kFrames, kPixels * 3 / 2, 64));
        Bytes file = read_file(path);
        const Chunk chunk = chunks_of(file).at(11);
        std::fill_n(file.begin() + static_cast<std::ptrdiff_t>(chunk.data), chunk.length,
                    std::byte{0});
        write_file(path, file);
        const auto frames = read_all(path, threads);
        CHECK(frames.size() == kFrames);
        CHECK(damaged_of(frames) == "11 12 13 14");
      }
    }
  }

  TEST_CASE("an FFV1 frame whose end is zeros is damaged, though its checksum is right") {
    const TemporaryFolder folder;
    const std::string path = folder.file("ffv1.avi");
    VideoFormat format{.codec = "ffv1"};
    format.codec_options = {{"level", "3"}, {"slicecrc", "1"}, {"slices", "4"}};
    write_video(path, format, pictures_8(kFrames, kPixels, 64));
    Bytes file = read_file(path);
    const Chunk chunk = chunks_of(file).at(6);
    const auto begin = file.begin() + static_cast<std::ptrdiff_t>(chunk.data);
    std::fill(begin + static_cast<std::ptrdiff_t>(chunk.length / 3),
              begin + static_cast<std::ptrdiff_t>(chunk.length), std::byte{0});
    write_file(path, file);
    CHECK(damaged_of(read_all(path, 1)) == "6");
  }

  TEST_CASE("FFV1 without checksums is reported (RFC 9043: from version 3 on)") {
    const TemporaryFolder folder;
    for (const std::string level : {"1", "3"}) {
      CAPTURE(level);
      VideoFormat format{.codec = "ffv1"};
      format.codec_options = {{"level", level}};
      write_video(folder.file("ffv1.mkv"), format, pictures_8(2, kPixels, 64));
      const auto capture = Capture::open(folder.file("ffv1.mkv"));
      REQUIRE(capture->info().notes.size() == (level == "1" ? 1 : 0));
      if (level == "1") CHECK(capture->info().notes[0].find("checksums") != std::string::npos);
    }
  }

  TEST_CASE("H.264 frames whose reference is not in the file are damaged") {
    for (const std::size_t missing : {0U, 11U}) {  // a key frame, another frame
      CAPTURE(missing);
      const TemporaryFolder folder;
      const std::string path = folder.file("h264.avi");
      write_video(path, {.codec = "libx264", .pixel_format = "yuv420p", .group = 5},
                  pictures_8(kFrames, kPixels * 3 / 2, 64));
      Bytes file = read_file(path);
      const Chunk chunk = chunks_of(file).at(missing);
      const char junk[] = {'J', 'U', 'N', 'K'};
      std::memcpy(file.data() + chunk.data - 8, junk, 4);
      file.resize(find_text(file, "idx1"));
      write_file(path, file);
      const auto frames = read_all(path, 1);
      CHECK(frames.size() == kFrames - 1);
      CHECK(damaged_of(frames) == (missing == 0 ? "0 1 2 3" : "11 12 13"));
    }
  }

  TEST_CASE("a PNG with a wrong checksum is damaged though it can be decoded") {
    const TemporaryFolder folder;
    const std::string path = folder.file("moon_1.png");
    write_video(folder.file("moon_%d.png"), {.codec = "png", .container = "image2"},
                pictures_8(2, kPixels, 64));
    Bytes file = read_file(path);
    const std::size_t end =
        find_text(file, "IEND");  // before it: checksum of IDAT, length (PNG 1.2)
    REQUIRE(end != SIZE_MAX);
    spoil(file, end - 8, 4);
    write_file(path, file);
    CHECK(damaged_of(read_all(folder.file("moon_%d.png"), 1)) == "0");
  }

  TEST_CASE("a last packet that is cut off is damaged though it can be decoded") {
    const TemporaryFolder folder;
    const std::string path = folder.file("motion.avi");
    write_video(path, {.codec = "mjpeg", .pixel_format = "yuvj444p"},
                pictures_8(kFrames, 3 * kPixels, 64));
    Bytes file = read_file(path);
    const Chunk chunk = chunks_of(file).at(12);
    file.resize(chunk.data + chunk.length - 2);  // only the end marker is missing
    write_file(path, file);
    const auto frames = read_all(path, 1);
    CHECK(frames.size() == 13);
    CHECK(damaged_of(frames) == "12");
  }

  TEST_CASE("missing pictures of a sequence are damaged frames, and reported") {
    const TemporaryFolder folder;
    const std::string pattern = folder.file("moon_%03d.png");
    const auto pictures = pictures_8(6, kPixels, 64);
    write_video(pattern, {.codec = "png", .container = "image2"}, pictures);
    std::filesystem::remove(folder.file("moon_003.png"));
    const auto capture = Capture::open(pattern);
    REQUIRE(capture->info().notes.size() == 1);
    CHECK(capture->info().notes[0].find("1 of the pictures from 1 to 6") != std::string::npos);
    CHECK(damaged_of(all_frames(*capture)) == "2");
  }

  TEST_CASE("a picture of another size or pixel format within a sequence is damaged") {
    const TemporaryFolder folder;
    const std::string pattern = folder.file("moon_%03d.png");
    write_video(pattern, {.codec = "png", .container = "image2"}, pictures_8(5, kPixels, 64));
    write_video(folder.file("wide_%03d.png"),
                {.codec = "png", .width_px = 96, .container = "image2"},
                pictures_8(1, std::size_t{96} * 48, 96));
    write_video(folder.file("deep_%03d.png"),
                {.codec = "png", .pixel_format = "gray16be", .container = "image2"},
                pictures_16(1, kPixels, 64, 12, 0));
    std::filesystem::rename(folder.file("wide_001.png"), folder.file("moon_002.png"));
    std::filesystem::rename(folder.file("deep_001.png"), folder.file("moon_005.png"));
    CHECK(damaged_of(read_all(pattern, 2)) == "1 4");
  }
}

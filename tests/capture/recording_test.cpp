#include <doctest/doctest.h>

#include <algorithm>
#include <fstream>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

// Recordings that did not come to their end: the program was stopped, the disk was full, or the
// recording still goes on.

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/recording") {
  namespace {

  constexpr int kFrames = 12;
  constexpr int kSide = 64;
  constexpr std::size_t kPixels = std::size_t{kSide} * kSide;

  std::vector<Bytes> pictures() { return pictures_8(kFrames, kPixels, kSide); }

  Bytes recorded(const TemporaryFolder& folder, const std::string& name, const std::string& codec) {
    VideoFormat format{.codec = codec, .width_px = kSide, .height_px = kSide};
    if (codec == "ffv1") format.codec_options = {{"level", "3"}, {"slicecrc", "1"}};
    write_video(folder.file(name), format, pictures());
    return read_file(folder.file(name));
  }

  /// Frames that could be decoded.
  std::vector<Bytes> sound_frames(const std::string& path) {
    auto frames = all_frames(*Capture::open(path));
    frames.erase(std::remove(frames.begin(), frames.end(), Bytes{}), frames.end());
    return frames;
  }

  std::size_t after(const Bytes& file, const std::string& text, std::size_t offset) {
    const std::size_t at = find_text(file, text);
    REQUIRE(at != SIZE_MAX);
    return at + offset;
  }

  bool are_the_first(const std::vector<Bytes>& frames) {
    const auto all = pictures();
    return std::equal(frames.begin(), frames.end(), all.begin());
  }

  }  // namespace

  // RIFF sizes and counts are filled in when a recording ends (Microsoft, AVI RIFF file reference:
  // avih.dwTotalFrames at 16, strh.dwLength at 32 of the chunk; from memory).
  TEST_CASE("an AVI without index, lengths and counts gives all its frames") {
    const TemporaryFolder folder;
    Bytes file = recorded(folder, "whole.avi", "rawvideo");
    file.resize(after(file, "idx1", 0));
    put_integer(file, 4, 0);
    put_integer(file, after(file, "avih", 8 + 16), 0);
    put_integer(file, after(file, "strh", 8 + 32), 0);
    put_integer(file, after(file, "movi", 0) - 4, 0);
    write_file(folder.file("unfinished.avi"), file);
    CHECK(sound_frames(folder.file("unfinished.avi")) == pictures());
    const auto capture = Capture::open(folder.file("unfinished.avi"));
    const auto seventh = capture->at(6);
    REQUIRE(seventh.ok());
    CHECK(bytes_in(seventh.value()) == pictures()[6]);
  }

  TEST_CASE("a file whose last third is cut off, or zeros, gives the frames before") {
    for (const std::string name : {"raw.avi", "ffv1.mkv", "ffv1.avi"}) {
      CAPTURE(name);
      const TemporaryFolder folder;
      Bytes file = recorded(folder, name, name == "raw.avi" ? "rawvideo" : "ffv1");
      const auto two_thirds = static_cast<std::ptrdiff_t>(file.size() * 2 / 3);
      std::fill(file.begin() + two_thirds, file.end(), std::byte{0});
      write_file(folder.file("zeros_" + name), file);
      file.resize(static_cast<std::size_t>(two_thirds));
      write_file(folder.file("cut_" + name), file);
      for (const std::string fate : {"zeros_", "cut_"}) {
        CAPTURE(fate);
        auto frames = sound_frames(folder.file(fate + name));
        // Raw samples that are zeros are black: nothing shows that the frame's end was not written.
        if (fate == "zeros_" && name == "raw.avi") frames.pop_back();
        CHECK(frames.size() >= kFrames * 2 / 3 - 2);
        CHECK(frames.size() < kFrames);
        CHECK(are_the_first(frames));
      }
    }
  }

  TEST_CASE("an MP4 without the list of its frames, which is written last, is refused") {
    const TemporaryFolder folder;
    write_video(
        folder.file("whole.mp4"),
        {.codec = "mpeg4", .pixel_format = "yuv420p", .width_px = kSide, .height_px = kSide},
        pictures_8(kFrames, kPixels * 3 / 2, kSide));
    Bytes file = read_file(folder.file("whole.mp4"));
    file.resize(after(file, "moov", 0) - 4);
    write_file(folder.file("cut.mp4"), file);
    CHECK(refusal_of(folder.file("cut.mp4")).find("to its end") != std::string::npos);
  }

  TEST_CASE("a capture that grows while it is read stays what it was when it was opened") {
    const TemporaryFolder folder;
    const std::string path = folder.file("growing.ser");
    Bytes file = read_file(std::string(LULL_SAMPLES) + "/ringed_faint.ser");
    file.resize(178);
    put_integer(file, 26, kSide);
    put_integer(file, 30, kSide);
    put_integer(file, 38, 0);  // is written when the recording ends
    const auto all = pictures();
    for (int i = 0; i < 7; ++i)
      file.insert(file.end(), all[static_cast<std::size_t>(i)].begin(),
                  all[static_cast<std::size_t>(i)].end());
    file.resize(file.size() + 100);  // the eighth is on its way
    write_file(path, file);
    const auto capture = Capture::open(path);
    REQUIRE(capture->next().ok());
    {
      std::ofstream more(path, std::ios::binary | std::ios::app);
      more.write(reinterpret_cast<const char*>(all[7].data() + 100), kPixels - 100);
      more.write(reinterpret_cast<const char*>(all[8].data()), kPixels);
    }
    capture->rewind();
    const auto frames = all_frames(*capture);
    CHECK(frames.size() == 7);
    CHECK(are_the_first(frames));
    CHECK(all_frames(*Capture::open(path)).size() == 9);
  }
}

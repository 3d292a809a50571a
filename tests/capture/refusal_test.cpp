// Covers: capture/input_file, capture/limits
#include <doctest/doctest.h>
#include <sys/stat.h>
#include <unistd.h>

#include <algorithm>
#include <filesystem>
#include <random>
#include <span>
#include <string>
#include <vector>

#include "capture/capture.h"
#include "core/error.h"
#include "support/bytes.h"
#include "support/frames.h"
#include "support/moving_disc.h"
#include "support/temporary_folder.h"
#include "support/video_writer.h"

using namespace lull;
using namespace lull::capture;
using namespace lull::test;

TEST_SUITE("capture/refusal") {
  namespace {

  constexpr std::size_t kPixels = std::size_t{64} * 48;

  Bytes text(const std::string& words) {
    const auto bytes = std::as_bytes(std::span(words));
    return {bytes.begin(), bytes.end()};
  }

  /// A second of silence: RIFF WAVE, 8 kHz, 16 bit, mono.
  Bytes sound() {
    Bytes file = text("RIFF....WAVEfmt ....................data....");
    put_integer(file, 4, 36 + 16000);
    put_integer(file, 16, 16);
    put_integer(file, 20, 0x0001'0001);  // PCM, one channel
    put_integer(file, 24, 8000);
    put_integer(file, 28, 16000);
    put_integer(file, 32, 0x0010'0002);  // 2 bytes a sample, 16 bits
    put_integer(file, 40, 16000);
    file.resize(44 + 16000);
    return file;
  }

  }  // namespace

  TEST_CASE("what is no capture is refused with the file's name and the reason") {
    const TemporaryFolder folder;
    const auto refused = [&](const std::string& name, const Bytes& content) {
      write_file(folder.file(name), content);
      std::string message = refusal_of(folder.file(name));
      CHECK(message.starts_with(folder.file(name)));
      return message;
    };
    CHECK(refusal_of(folder.file("none.avi")).find("no such file") != std::string::npos);
    CHECK(refusal_of(folder.path()).find("folder") != std::string::npos);
    CHECK(refusal_of(folder.file("none_%04d.png")).find("no picture") != std::string::npos);
    CHECK(refused("empty.avi", {}).find("empty") != std::string::npos);
    CHECK(refused("sound.avi", sound()).find("no video") != std::string::npos);
    refused("letter.txt", text("Clear sky, steady air. The Moon was high.\n"));
    refused("letter.avi", text(std::string(100'000, 'a')));
    refused("zeros.avi", Bytes(100'000));
  }

  TEST_CASE("a pipe is refused at once instead of waited for") {
    const TemporaryFolder folder;
    REQUIRE(::mkfifo(folder.file("pipe.avi").c_str(), 0600) == 0);
    CHECK(refusal_of(folder.file("pipe.avi")).find("regular file") != std::string::npos);
  }

  TEST_CASE("a file without read access is refused") {
    if (::geteuid() == 0) {
      MESSAGE("access rights do not bind the superuser: not tested");
      return;
    }
    const TemporaryFolder folder;
    write_video(folder.file("secret.avi"), {}, pictures_8(2, kPixels, 64));
    std::filesystem::permissions(folder.file("secret.avi"), std::filesystem::perms::none);
    CHECK(refusal_of(folder.file("secret.avi")).find("may not be read") != std::string::npos);
  }

  TEST_CASE("lists that name other files or addresses are refused, whatever they are called") {
    const TemporaryFolder folder;
    write_video(folder.file("raw.avi"), {}, pictures_8(2, kPixels, 64));
    const std::string video = folder.file("raw.avi");
    const std::vector<std::string> lists = {
        "ffconcat version 1.0\nfile 'raw.avi'\n",
        "ffconcat version 1.0\nfile '" + video + "'\n",
        "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nraw.avi\n#EXT-X-ENDLIST\n",
        "#EXTM3U\n#EXT-X-TARGETDURATION:1\n#EXTINF:1,\nhttp://example.invalid/a.ts\n",
        "v=0\no=- 0 0 IN IP4 127.0.0.1\ns=x\nc=IN IP4 127.0.0.1\nt=0 0\nm=video 5004 RTP/AVP 96\n",
    };
    for (const std::string& list : lists) {
      CAPTURE(list);
      write_file(folder.file("list.avi"), text(list));
      CHECK(refusal_of(folder.file("list.avi")).find("list or a text") != std::string::npos);
    }
  }

  TEST_CASE("a header without frames is refused, in every container") {
    const TemporaryFolder folder;
    for (const std::string name : {"raw.avi", "ffv1.mkv", "h264.mp4"}) {
      CAPTURE(name);
      const std::string path = folder.file(name);
      VideoFormat format;
      if (name == "ffv1.mkv") format.codec = "ffv1";
      if (name == "h264.mp4") format.codec = "libx264";
      if (name == "h264.mp4") format.pixel_format = "yuv420p";
      VideoWriter writer(path, format);
      writer.finish();
      CHECK_FALSE(refusal_of(path).empty());
    }
  }

  TEST_CASE("a capture of damaged frames only is refused") {
    const TemporaryFolder folder;
    const std::string path = folder.file("moon_%d.png");
    write_video(path, {.codec = "png", .container = "image2"}, pictures_8(3, kPixels, 64));
    for (const std::string number : {"1", "2", "3"}) {
      Bytes file = read_file(folder.file("moon_" + number + ".png"));
      file.resize(60);
      write_file(folder.file("moon_" + number + ".png"), file);
    }
    CHECK(refusal_of(path).find("none of the first 3 frames") != std::string::npos);
  }

  TEST_CASE("absurd sizes in a header are refused before memory is taken") {
    const TemporaryFolder folder;
    const std::string path = folder.file("raw.avi");
    write_video(path, {}, pictures_8(2, kPixels, 64));
    Bytes file = read_file(path);
    const std::size_t format = find_text(file, "strf");  // BITMAPINFOHEADER: size, width, height
    REQUIRE(format != SIZE_MAX);
    put_integer(file, format + 12, 1'000'000);
    write_file(path, file);
    CHECK(refusal_of(path).find("1000000 x 48") != std::string::npos);
    put_integer(file, format + 12, 60'000);
    put_integer(file, format + 16, 60'000);
    write_file(path, file);
    CHECK(refusal_of(path).find("60000 x 60000") != std::string::npos);
  }

  // No reference: for any bytes, a capture opens or is refused, and ends.
  TEST_CASE("spoiled and cut files of every kind neither crash nor hang") {
    const auto seed = 20240817;
    CAPTURE(seed);
    std::mt19937 random(seed);
    const TemporaryFolder folder;

    struct Kind {
      std::string file;
      VideoFormat format;
      std::size_t bytes;
    };

    const std::vector<Kind> kinds = {
        {"raw.avi", {}, kPixels},
        {"ffv1.mkv", {.codec = "ffv1"}, kPixels},
        {"h264.mp4", {.codec = "libx264", .pixel_format = "yuv420p", .group = 4}, kPixels * 3 / 2},
        {"motion.mov", {.codec = "mjpeg", .pixel_format = "yuvj444p"}, kPixels * 3},
        {"picture.png", {.codec = "png", .container = "image2"}, kPixels},
        {"picture.tif", {.codec = "tiff", .container = "image2"}, kPixels},
    };
    int opened = 0;
    for (const Kind& kind : kinds) {
      const std::string path = folder.file(kind.file);
      const int count = kind.format.container.empty() ? 8 : 1;
      write_video(path, kind.format, pictures_8(count, kind.bytes, 64));
      const Bytes whole = read_file(path);
      for (int round = 0; round < 40; ++round) {
        CAPTURE(kind.file);
        CAPTURE(round);
        Bytes file = whole;
        for (int i = 0; i < 1 + round % 5; ++i) {
          // Half of the hits go to the header, where they hurt most.
          const std::size_t reach =
              round % 2 == 0 ? file.size() : std::min<std::size_t>(file.size(), 512);
          file[random() % reach] = static_cast<std::byte>(random());
        }
        if (round % 4 == 3) file.resize(random() % file.size());
        write_file(path, file);
        try {
          const auto capture = Capture::open(path);
          CHECK(all_frames(*capture).size() < 1000);
          static_cast<void>(capture->at(2));
          ++opened;
        } catch (const InputError& error) {
          CHECK(std::string(error.what()).starts_with(path));
        }
      }
    }
    CHECK(opened > 50);
  }
}

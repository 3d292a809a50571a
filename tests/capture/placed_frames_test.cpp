#include "capture/placed_frames.h"

#include <doctest/doctest.h>

#include <algorithm>
#include <cstddef>
#include <cstdint>
#include <optional>
#include <set>
#include <utility>
#include <vector>

#include "support/bytes.h"
#include "support/temporary_folder.h"

using namespace lull;
using namespace lull::capture;

TEST_SUITE("capture/placed_frames") {
  namespace {

  constexpr int kBytes = 1000;
  constexpr int kHead = 20;

  test::Bytes frames_of(int count) {
    test::Bytes bytes(kHead, std::byte{0xFF});
    for (int i = 0; i < count; ++i) bytes.insert(bytes.end(), kBytes, static_cast<std::byte>(i));
    return bytes;
  }

  }  // namespace

  TEST_CASE("frames are those of their places, padded, and memory that is free is used again") {
    const test::TemporaryFolder folder;
    const std::string path = folder.file("raw");
    test::write_file(path, frames_of(10));
    InputFile file(path);
    std::optional<PlacedFrames> frames(std::in_place, file, kBytes);
    std::set<const std::uint8_t*> memory;
    const auto kept = owned<Packet>(av_packet_alloc());
    REQUIRE(frames->read(kHead + 3 * kBytes, *kept));
    const auto packet = owned<Packet>(av_packet_alloc());
    for (const int i : {0, 9, 4, 5, 6}) {
      CAPTURE(i);
      REQUIRE(frames->read(kHead + i * kBytes, *packet));
      memory.insert(packet->data);
      CHECK(packet->size == kBytes);
      CHECK(packet->pos == kHead + i * kBytes);
      CHECK((packet->flags & AV_PKT_FLAG_KEY) != 0);
      CHECK(std::count(packet->data, packet->data + kBytes, i) == kBytes);
      CHECK(std::count(packet->data + kBytes, packet->data + kBytes + AV_INPUT_BUFFER_PADDING_SIZE,
                       0) == AV_INPUT_BUFFER_PADDING_SIZE);
    }
    CHECK(memory.size() == 1);
    frames.reset();
    CHECK(std::count(kept->data, kept->data + kBytes, 3) == kBytes);
  }

  TEST_CASE("a file that has become shorter ends") {
    const test::TemporaryFolder folder;
    const std::string path = folder.file("raw");
    test::Bytes bytes = frames_of(2);
    bytes.pop_back();
    test::write_file(path, bytes);
    InputFile file(path);
    PlacedFrames frames(file, kBytes);
    const auto packet = owned<Packet>(av_packet_alloc());
    CHECK(frames.read(kHead, *packet));
    CHECK_FALSE(frames.read(kHead + kBytes, *packet));
    CHECK_FALSE(frames.read(kHead + 2 * kBytes, *packet));
  }
}

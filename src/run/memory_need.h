#pragma once

#include <cstddef>
#include <functional>
#include <string>

#include "capture/capture_info.h"
#include "run/control.h"
#include "stack/stacker.h"

namespace lull::run {

/// Bytes that a run holds at most of the frames of a capture and of pictures made from them, with
/// no frame in a cache. Measured, with a margin: tests/cli/memory_test.cpp. The program itself
/// takes up to 100 MB more.
struct MemoryNeed {
  std::function<double(const capture::CaptureInfo&)> bytes;
  std::string less = "use a smaller area with --crop";  ///< how less would do
};

/// To rank and to inspect.
[[nodiscard]] double need_of_survey(const capture::CaptureInfo& info);

/// To write the frames as a video besides.
[[nodiscard]] double need_of_video(const capture::CaptureInfo& info);

[[nodiscard]] double need_of_stack(const capture::CaptureInfo& info, stack::Fusion fusion);

/// Besides, to bring pieces of a capture to one moment.
[[nodiscard]] double need_of_pieces(const capture::CaptureInfo& info);

[[nodiscard]] double need_of_master(const capture::CaptureInfo& info);

/// What a run may use beyond its need, bytes.
struct Spare {
  std::size_t cache = 0;    ///< for frames as they were read
  std::size_t at_work = 0;  ///< for frames at work
};

/// What is left of --memory; without it as much as makes the run fast, and half of what the machine
/// has free at most, need included. @param info  of the frames that are kept.
[[nodiscard]] Spare spare_memory(const capture::CaptureInfo& info, double need,
                                 const Resources& resources);

/// Before anything of the capture but its header is read. @throws NotEnoughMemory when `need` is
/// more than --memory allows, or than the machine has free.
/// @param less  how less would do, unless the capture is too long.
void require_memory(const capture::CaptureInfo& info, double need, const Resources& resources,
                    const std::string& less = MemoryNeed{}.less);

/// The same for what is no capture. @param what  "cannot finish 'a.tif': 6000 x 4000 pixels".
void require_memory(const std::string& what, double need, const Resources& resources,
                    const std::string& less);

/// The same for OpenOptions::check_size, when nothing but the size of the frames is known: the
/// least that large ones can need.
[[nodiscard]] std::function<void(const std::string&, Size)> check_of(const MemoryNeed& need,
                                                                     const Resources& resources);

}  // namespace lull::run

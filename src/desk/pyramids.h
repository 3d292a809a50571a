#pragma once

#include <cstddef>
#include <cstdint>
#include <functional>
#include <memory>
#include <string>

#include "desk/recent.h"
#include "desk/tile_pyramid.h"

namespace lull::desk {

/// The pictures that were looked at last, in tiles. Any thread.
class Pyramids {
 public:
  static constexpr std::size_t kMostOpen = 2;  ///< their files take a byte and a third a sample

  /// Made by the first who asks; others wait for it.
  /// @param folder  for their files. @param is_gone  see TilePyramid.
  [[nodiscard]] std::shared_ptr<const TilePyramid> of(const std::string& picture,
                                                      std::int64_t modified_s,
                                                      const std::string& folder,
                                                      const std::function<bool()>& is_gone);

 private:
  Recent<const TilePyramid> recent_;
};

}  // namespace lull::desk

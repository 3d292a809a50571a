#pragma once

#include <cstddef>
#include <filesystem>
#include <memory>
#include <string>

#include "core/geometry.h"
#include "core/plane.h"

namespace lull::files {

/// Images of 32-bit floats of a FITS file, read rectangle by rectangle, so that they may be larger
/// than memory. One thread.
class FitsBoxes {
 public:
  struct Image {
    Size size;
    std::size_t channels = 0;  ///< 1 or 3; 0: the file has no such image
    int unit = 0;              ///< its header, from 1
  };

  /// @throws InputError as read_picture() does.
  explicit FitsBoxes(const std::filesystem::path& path);
  ~FitsBoxes();
  FitsBoxes(FitsBoxes&&) noexcept;
  FitsBoxes& operator=(FitsBoxes&&) noexcept;

  /// The image of the first header; its channels are 0 where it is none of 32-bit floats.
  [[nodiscard]] Image first() const;

  /// The image extension of that name. @throws InputError where it is damaged.
  [[nodiscard]] Image named(const std::string& name) const;

  /// @throws InputError: cut short, or samples that are not finite.
  [[nodiscard]] Plane read(const Image& image, std::size_t channel, const Box& box);

 private:
  struct File;
  std::unique_ptr<File> file_;
};

}  // namespace lull::files

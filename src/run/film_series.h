#pragma once

#include <string>
#include <vector>

#include "core/progress.h"
#include "files/bitmap.h"
#include "files/picture_file.h"
#include "finish/levels.h"
#include "merge/similarity.h"
#include "run/animate_request.h"

namespace lull::run {

/// The pictures of a film, each read again when it is shown, so that memory does not depend on
/// their number. Aligned to the middle one, evenly bright, with one black, one white and one curve.
class FilmSeries {
 public:
  /// Reads and registers all pictures.
  /// @throws UsageError: pictures that do not go together, no date for a caption. InputError: one
  /// cannot be read. NothingUsable: they cannot be registered, or share too little.
  FilmSeries(const AnimateRequest& request, const Progress& progress);

  [[nodiscard]] std::size_t count() const { return maps_.size(); }

  /// Of the pictures as shown, caption included.
  [[nodiscard]] Size size() const { return size_; }

  [[nodiscard]] const std::vector<merge::Similarity>& maps() const { return maps_; }

  [[nodiscard]] std::vector<double> gains() const;

  /// A picture as the film shows it.
  [[nodiscard]] files::Bitmap shown(std::size_t picture) const;

 private:
  /// From the light of a picture to that of the middle one.
  struct Change {
    double gain = 1;
    double offset = 0;
  };

  [[nodiscard]] files::PictureFile read(std::size_t picture) const;
  void check_alike(const files::PictureFile& file, std::size_t picture) const;
  void add(std::size_t picture, const files::PictureFile& file, const Plane& middle);
  void settle_captions();
  [[nodiscard]] files::Picture on_grid(std::size_t picture, const files::PictureFile& file) const;

  const AnimateRequest& request_;
  Size grid_;
  std::size_t channels_ = 0;
  bool stretched_ = false;
  std::vector<merge::Similarity> maps_;
  std::vector<Change> changes_;
  std::vector<std::string> captions_;
  Box box_;  ///< of the grid, what all show
  finish::Levels levels_;
  Size size_;
};

}  // namespace lull::run

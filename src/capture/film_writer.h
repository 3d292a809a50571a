#pragma once

#include <filesystem>
#include <memory>
#include <vector>

#include "core/geometry.h"
#include "files/bitmap.h"
#include "files/colour_table.h"

namespace lull::capture {

enum class FilmFormat {
  mp4,   ///< H.264
  webm,  ///< VP9
  gif,
  apng,
};

/// The format that a name asks for: .mp4, .webm, .gif, .png, in any case. @throws UsageError naming
/// these for any other.
[[nodiscard]] FilmFormat film_format_of(const std::filesystem::path& path);

/// Whether the file itself states how often it plays; in other formats the player decides.
[[nodiscard]] bool states_loops(FilmFormat format);

/// Size that the format can hold: without an odd row or column where it needs even sides.
[[nodiscard]] Size film_size(FilmFormat format, Size size);

struct FilmOptions {
  double pictures_per_s = 8;
  int plays = 0;                      ///< 0: forever; of formats that state it
  std::vector<files::Rgb> colours{};  ///< of a GIF
};

/// Writes pictures of 8 bits, by the sRGB curve, as a film. The same pictures give the same bytes,
/// on any number of threads. Nothing stands under the name before finish() (AtomicFile). One
/// thread.
class FilmWriter {
 public:
  /// @param size  as film_size() gives it. @throws OutputError: the folder is missing or protected,
  /// the size is not possible, or there is no encoder for the format.
  FilmWriter(const std::filesystem::path& path, Size size, const FilmOptions& options);
  ~FilmWriter();
  FilmWriter(const FilmWriter&) = delete;
  FilmWriter& operator=(const FilmWriter&) = delete;

  /// Appends a picture; 1 or 3 channels, the first pixels of its rows and columns as far as the
  /// size goes. @throws OutputError
  void add(const files::Bitmap& picture);

  /// Completes the file and gives it its name. Called once. @throws OutputError
  void finish();

 private:
  struct State;
  std::unique_ptr<State> state_;
};

}  // namespace lull::capture

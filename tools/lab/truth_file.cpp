#include "lab/truth_file.h"

#include <fitsio.h>
#include <fmt/format.h>

#include <array>
#include <cstdio>

#include "core/error.h"
#include "files/csv.h"

namespace lull::lab {

namespace {

class FitsFile {
 public:
  explicit FitsFile(const std::filesystem::path& path) : path_(path) {
    std::remove(path.string().c_str());  // CFITSIO creates its files
    fits_create_diskfile(&file_, path.string().c_str(), &status_);
    check();
  }

  ~FitsFile() {
    int ignored = 0;
    if (file_ != nullptr) fits_close_file(file_, &ignored);
  }

  FitsFile(const FitsFile&) = delete;
  FitsFile& operator=(const FitsFile&) = delete;

  void image(const std::vector<long>& axes) {
    std::vector<long> copy = axes;
    fits_create_img(file_, FLOAT_IMG, static_cast<int>(axes.size()), copy.data(), &status_);
    next_ = 1;
    check();
  }

  void pixels(const float* values, std::size_t count) {
    fits_write_img(file_, TFLOAT, next_, static_cast<LONGLONG>(count), const_cast<float*>(values),
                   &status_);
    next_ += static_cast<LONGLONG>(count);
    check();
  }

  void card(const std::string& name, double value, const char* comment) {
    fits_update_key_dbl(file_, name.c_str(), value, -15, comment, &status_);
    check();
  }

  void card(const std::string& name, long value, const char* comment) {
    fits_update_key_lng(file_, name.c_str(), value, comment, &status_);
    check();
  }

  void name(const char* text) {
    fits_update_key_str(file_, "EXTNAME", text, "extension name", &status_);
    check();
  }

  void history(const char* text) {
    fits_write_history(file_, text, &status_);
    check();
  }

  void close() {
    fits_close_file(file_, &status_);
    file_ = nullptr;
    check();
  }

 private:
  void check() const {
    if (status_ == 0) return;
    std::array<char, FLEN_STATUS> text{};
    fits_get_errstatus(status_, text.data());
    throw OutputError(
        fmt::format("{}: the truth cannot be written: {}", path_.string(), text.data()));
  }

  std::filesystem::path path_;
  fitsfile* file_ = nullptr;
  int status_ = 0;
  LONGLONG next_ = 1;
};

void write_planes(FitsFile& file, const std::vector<Plane>& planes) {
  std::vector<long> axes = {planes[0].width(), planes[0].height()};
  if (planes.size() > 1) axes.push_back(static_cast<long>(planes.size()));
  file.image(axes);
  for (const Plane& plane : planes) {
    for (int y = 0; y < plane.height(); ++y)
      file.pixels(plane.row(y), static_cast<std::size_t>(plane.width()));
  }
}

// On a grid finer than the frame's by a whole factor.
void write_cards(FitsFile& file, const Truth& truth, int fineness) {
  file.card("CUTOFF", truth.cutoff_cycles_per_px / fineness,
            "optical cutoff D/lambda, cycles per pixel");
  file.card("EXT", long{NodeField::kRim} * fineness, "width of the rim of image EXTENDED, px");
  file.card("BOXY0", long{truth.judged.y0} * fineness, "box to be judged");
  file.card("BOXY1", long{truth.judged.y1} * fineness, "box to be judged");
  file.card("BOXX0", long{truth.judged.x0} * fineness, "box to be judged");
  file.card("BOXX1", long{truth.judged.x1} * fineness, "box to be judged");
  for (std::size_t c = 0; c < truth.wavelength_ratios.size(); ++c) {
    file.card(fmt::format("LAM{}", c), truth.wavelength_ratios[c],
              "wavelength over the reference wavelength");
  }
  file.history("first row = top of the frame");
}

}  // namespace

void write_truth(const std::filesystem::path& path, const Truth& truth) {
  FitsFile file(path);
  write_planes(file, truth.picture);
  write_cards(file, truth, 1);
  write_planes(file, truth.extended);
  file.name("EXTENDED");
  file.image(
      {truth.fields[0].columns, truth.fields[0].rows, 2, static_cast<long>(truth.fields.size())});
  for (const NodeField& field : truth.fields) {
    file.pixels(field.x.data(), field.x.size());
    file.pixels(field.y.data(), field.y.size());
  }
  file.name("SHIFT_FIELD");
  file.card("GX0", -static_cast<double>(NodeField::kRim), "place of the first column, px");
  file.card("GY0", -static_cast<double>(NodeField::kRim), "place of the first row, px");
  file.card("GSTEP", static_cast<double>(NodeField::kStep), "distance of the nodes, px");
  file.close();
}

void write_fine_truth(const std::filesystem::path& path, const Truth& truth) {
  FitsFile file(path);
  file.image({});
  write_cards(file, truth, truth.fineness);
  write_planes(file, truth.fine);
  file.name("EXTENDED");
  file.close();
}

std::string frame_table(const std::vector<FrameTruth>& frames) {
  std::string text = files::csv_line(
      std::vector<std::string>{"frame", "time_s", "shift_x_px", "shift_y_px", "strehl_tilt_removed",
                               "strehl_on_axis", "brightness", "fault"});
  for (std::size_t i = 0; i < frames.size(); ++i) {
    const FrameTruth& f = frames[i];
    text += files::csv_line(std::vector<std::string>{
        std::to_string(i), fmt::format("{:.6f}", f.time_s), fmt::format("{:.4f}", f.shift.x_px),
        fmt::format("{:.4f}", f.shift.y_px), fmt::format("{:.5f}", f.strehl_tilt_removed),
        fmt::format("{:.5f}", f.strehl_on_axis), fmt::format("{:.4f}", f.brightness), f.fault});
  }
  return text;
}

}  // namespace lull::lab

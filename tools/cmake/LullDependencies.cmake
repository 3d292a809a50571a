# Everything comes from the distribution; nothing is downloaded. tools/setup.sh lists the packages.
find_package(PkgConfig REQUIRED)
find_package(TBB REQUIRED)
find_package(fmt REQUIRED)
find_package(CLI11 REQUIRED)
find_package(nlohmann_json REQUIRED)
pkg_check_modules(libav REQUIRED IMPORTED_TARGET libavformat libavcodec libavutil libswscale)
pkg_check_modules(fftw REQUIRED IMPORTED_TARGET fftw3f)
pkg_check_modules(tiff REQUIRED IMPORTED_TARGET libtiff-4)
pkg_check_modules(png REQUIRED IMPORTED_TARGET libpng)
pkg_check_modules(jpeg REQUIRED IMPORTED_TARGET libjpeg)
pkg_check_modules(lcms REQUIRED IMPORTED_TARGET lcms2)
pkg_check_modules(cfitsio REQUIRED IMPORTED_TARGET cfitsio)

# OpenCV is a reference that tests and benchmarks compare with; Lull itself does not link it.
# Its two small -dev packages bring no CMake config, hence the plain search.
if(LULL_TESTS OR LULL_BENCH)
  find_path(OPENCV_INCLUDE opencv2/imgproc.hpp PATH_SUFFIXES opencv4 REQUIRED)
  find_library(OPENCV_CORE opencv_core REQUIRED)
  find_library(OPENCV_IMGPROC opencv_imgproc REQUIRED)
  add_library(lull_opencv INTERFACE)
  target_include_directories(lull_opencv SYSTEM INTERFACE "${OPENCV_INCLUDE}")
  target_link_libraries(lull_opencv INTERFACE "${OPENCV_IMGPROC}" "${OPENCV_CORE}")
endif()

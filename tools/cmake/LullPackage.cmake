# The Debian package: tools/package.sh builds it.
set(CPACK_GENERATOR DEB)
set(CPACK_VERBATIM_VARIABLES ON)
set(CPACK_PACKAGE_NAME lull)
set(CPACK_PACKAGE_VERSION "${PROJECT_VERSION}")
set(CPACK_PACKAGE_CONTACT "The authors of Lull <lull@example.org>")
set(CPACK_PACKAGE_DESCRIPTION_SUMMARY "one sharp picture from a fast video of the Moon, a planet or the Sun")
set(CPACK_PACKAGE_DESCRIPTION "\
The air above a telescope blurs a long exposure. Lull reads a video of very
short ones, measures the sharpness of every frame, keeps the best, registers
each region of them, and stacks them into one picture of low noise. It restores
detail as far as two independent halves of the frames agree on it.
.
Every result comes with its resolution, its noise, a report, and a recipe that
repeats the run.")
set(CPACK_PACKAGING_INSTALL_PREFIX /usr)
set(CPACK_STRIP_FILES ON)
set(CPACK_INSTALL_DEFAULT_DIRECTORY_PERMISSIONS
  OWNER_READ OWNER_WRITE OWNER_EXECUTE GROUP_READ GROUP_EXECUTE WORLD_READ WORLD_EXECUTE)
set(CPACK_DEBIAN_FILE_NAME DEB-DEFAULT)
set(CPACK_DEBIAN_PACKAGE_SECTION science)
set(CPACK_DEBIAN_PACKAGE_SHLIBDEPS ON)
set(CPACK_DEBIAN_COMPRESSION_TYPE xz)
# What only Debian wants: copyright, changelog, compressed manual pages.
set(CPACK_PRE_BUILD_SCRIPTS "${CMAKE_SOURCE_DIR}/tools/cmake/debian_files.cmake")
set(CPACK_LULL_SOURCE "${CMAKE_SOURCE_DIR}")
set(CPACK_LULL_FONT_COPYRIGHT /usr/share/doc/fonts-dejavu-core/copyright)
include(CPack)

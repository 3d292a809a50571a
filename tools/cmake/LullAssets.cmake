# lull_assets(variable NAMESPACE ns HEADER header FILES name file name file ...)
# Writes a source that defines each file's bytes as `const std::string_view name`, anew whenever a
# file changes, and stores its path in the variable.
function(lull_assets variable)
  cmake_parse_arguments(ARG "" "NAMESPACE;HEADER" "FILES" ${ARGN})
  set(source "${CMAKE_CURRENT_BINARY_DIR}/assets.cpp")
  set(pairs ${ARG_FILES})
  set(depends "")
  set(job "")
  while(pairs)
    list(POP_FRONT pairs name file)
    cmake_path(ABSOLUTE_PATH file BASE_DIRECTORY "${CMAKE_CURRENT_SOURCE_DIR}")
    list(APPEND depends "${file}")
    list(APPEND job ${name} "${file}")
  endwhile()
  add_custom_command(
    OUTPUT "${source}"
    COMMAND "${CMAKE_COMMAND}" "-DOUTPUT=${source}" "-DNAMESPACE=${ARG_NAMESPACE}" "-DHEADER=${ARG_HEADER}"
            "-DFILES=${job}" -P "${CMAKE_SOURCE_DIR}/tools/cmake/write_assets.cmake"
    DEPENDS ${depends} "${CMAKE_SOURCE_DIR}/tools/cmake/write_assets.cmake"
    VERBATIM)
  set(${variable} "${source}" PARENT_SCOPE)
endfunction()

# Flags for our own code only (linked PRIVATE), so that nothing leaks into what others compile.
set(CMAKE_CXX_STANDARD 20)
set(CMAKE_CXX_STANDARD_REQUIRED ON)
set(CMAKE_CXX_EXTENSIONS OFF)

add_library(lull_flags INTERFACE)
target_include_directories(lull_flags INTERFACE "${CMAKE_SOURCE_DIR}/src")
target_compile_options(lull_flags INTERFACE
  -Wall -Wextra -Wpedantic -Wshadow -Wconversion -Wdouble-promotion -Wold-style-cast
  -Wnon-virtual-dtor -Woverloaded-virtual
  # One rounding for one operation: results do not depend on which instruction set is dispatched.
  -ffp-contract=off)
target_compile_definitions(lull_flags INTERFACE
  LULL_VERSION="${PROJECT_VERSION}"
  $<$<BOOL:${LULL_CHECKS}>:LULL_CHECKS>
  $<$<BOOL:${LULL_JTHREAD}>:LULL_JTHREAD>)
if(LULL_WERROR)
  target_compile_options(lull_flags INTERFACE -Werror)
endif()
if(LULL_SANITIZE)
  target_compile_options(lull_flags INTERFACE
    -fsanitize=${LULL_SANITIZE} -fno-sanitize-recover=all -fno-omit-frame-pointer)
  target_link_options(lull_flags INTERFACE -fsanitize=${LULL_SANITIZE})
  if(LULL_SANITIZE MATCHES "integer")
    # What only Clang finds: unsigned sums that wrap, and values that lose bits or their sign on the way.
    target_compile_options(lull_flags INTERFACE "-fsanitize-ignorelist=${CMAKE_SOURCE_DIR}/tools/integer.ignore")
  endif()
endif()

# lull_unity(target [ALONE source...]): sources of the target are compiled in batches, which saves reading the same
# headers again (tests: half of the time). Names in unnamed namespaces then meet: in a test, put the helpers inside
# TEST_SUITE, which is a namespace of its own. Sources under ALONE are left out.
# The preset dev (and with it tools/check.sh clang) compiles one by one, and sees what a source forgot to include.
function(lull_unity target)
  cmake_parse_arguments(ARG "" "" "ALONE" ${ARGN})
  if(LULL_UNITY)
    set_target_properties(${target} PROPERTIES UNITY_BUILD ON UNITY_BUILD_BATCH_SIZE 8)
    set_source_files_properties(${ARG_ALONE} PROPERTIES SKIP_UNITY_BUILD_INCLUSION ON)
  endif()
endfunction()

# Run by CPack on the tree of the package, before it is packed: writes the copyright and the changelog as
# Debian wants them, and compresses the changelog and the manual pages.
cmake_minimum_required(VERSION 3.25)
set(usr "${CPACK_TEMPORARY_INSTALL_DIRECTORY}${CPACK_PACKAGING_INSTALL_PREFIX}")
set(doc "${usr}/share/doc/${CPACK_PACKAGE_NAME}")

# debian_paragraph(variable text): set in by one space, an empty line as a dot.
function(debian_paragraph variable text)
  string(STRIP "${text}" text)
  string(REGEX REPLACE "\n[ \t]*\n" "\n.\n" text "${text}")
  string(REGEX REPLACE "\n[ \t]*" "\n " text "${text}")
  set(${variable} " ${text}" PARENT_SCOPE)
endfunction()

# folded(variable text width): broken at spaces; the lines after the first are set in by four.
function(folded variable text width)
  string(REPLACE " " ";" words "${text}")
  set(out "")
  set(line "")
  foreach(word IN LISTS words)
    string(LENGTH "${line} ${word}" length)
    if(line AND length GREATER width)
      string(APPEND out "${line}\n    ")
      set(line "${word}")
    elseif(line)
      string(APPEND line " ${word}")
    else()
      set(line "${word}")
    endif()
  endforeach()
  set(${variable} "${out}${line}" PARENT_SCOPE)
endfunction()

# copyright: the project's licence, and those of the chart code, the viewer and the font inside the program.
file(READ "${CPACK_LULL_SOURCE}/LICENSE" licence)
if(NOT licence MATCHES "GNU GENERAL PUBLIC LICENSE *\n *Version 3")
  message(FATAL_ERROR "LICENSE is not the GPL 3: change the copyright of the package with it")
endif()
file(READ "${CPACK_LULL_SOURCE}/src/report/vendor/uplot/LICENSE" uplot)
string(REGEX MATCH "Copyright \\(c\\) ([^\n]+)" found "${uplot}")
set(uplot_holder "${CMAKE_MATCH_1}")
string(REGEX REPLACE "^.*(Permission is hereby)" "\\1" uplot "${uplot}")
debian_paragraph(uplot "${uplot}")
file(READ "${CPACK_LULL_SOURCE}/src/desk/vendor/openseadragon/LICENSE.txt" openseadragon)
string(REGEX MATCH "Copyright \\(C\\) ([^\n]+)\n *Copyright \\(C\\) ([^\n]+)" found "${openseadragon}")
set(openseadragon_holders "${CMAKE_MATCH_1}\n ${CMAKE_MATCH_2}")
string(REGEX REPLACE "^.*(Redistribution and use)" "\\1" openseadragon "${openseadragon}")
debian_paragraph(openseadragon "${openseadragon}")
file(READ "${CPACK_LULL_FONT_COPYRIGHT}" font)
if(NOT font MATCHES "\nLicense: bitstream-vera\n(.*)\n\nFiles: debian")
  message(FATAL_ERROR "${CPACK_LULL_FONT_COPYRIGHT} holds no licence bitstream-vera")
endif()
set(font "${CMAKE_MATCH_1}")
file(WRITE "${doc}/copyright" "\
Format: https://www.debian.org/doc/packaging-manuals/copyright-format/1.0/
Upstream-Name: Lull

Files: *
Copyright: the authors of Lull
License: GPL-3+
 This program is free software: you can redistribute it and/or modify it
 under the terms of the GNU General Public License as published by the Free
 Software Foundation, either version 3 of the License, or (at your option)
 any later version.
 .
 This program is distributed in the hope that it will be useful, but WITHOUT
 ANY WARRANTY; without even the implied warranty of MERCHANTABILITY or FITNESS
 FOR A PARTICULAR PURPOSE.
 .
 On Debian systems the complete text of the GNU General Public License
 version 3 is in /usr/share/common-licenses/GPL-3.

Files: src/report/vendor/uplot/*
Copyright: ${uplot_holder}
License: Expat
${uplot}

Files: src/desk/vendor/openseadragon/*
Copyright: ${openseadragon_holders}
License: BSD-3-clause
${openseadragon}

Files: DejaVuSans.ttf
Copyright: 2003 Bitstream, Inc.
Comment: The font is inside the program. The changes of DejaVu are in the
 public domain.
License: bitstream-vera
${font}
")

# changelog: "## VERSION (DATE)" and its items.
file(STRINGS "${CPACK_LULL_SOURCE}/src/docs/changelog.md" lines ENCODING UTF-8)
set(changelog "")
set(signature "")
foreach(line IN LISTS lines)
  if(line MATCHES "^## ([0-9.]+) \\(([0-9-]+)\\)$")
    set(version "${CMAKE_MATCH_1}")
    execute_process(COMMAND date --utc --rfc-email "--date=${CMAKE_MATCH_2}"
      OUTPUT_VARIABLE date OUTPUT_STRIP_TRAILING_WHITESPACE COMMAND_ERROR_IS_FATAL ANY)
    if(NOT changelog AND NOT version STREQUAL CPACK_PACKAGE_VERSION)
      message(FATAL_ERROR "src/docs/changelog.md begins with ${version}, the project is ${CPACK_PACKAGE_VERSION}")
    endif()
    string(APPEND changelog "${signature}${CPACK_PACKAGE_NAME} (${version}) unstable; urgency=medium\n\n")
    set(signature "\n -- ${CPACK_PACKAGE_CONTACT}  ${date}\n\n")
  elseif(line MATCHES "^- (.+)$")
    folded(item "${CMAKE_MATCH_1}" 72)
    string(APPEND changelog "  * ${item}\n")
  endif()
endforeach()
file(WRITE "${doc}/changelog" "${changelog}${signature}")

file(GLOB_RECURSE pages "${usr}/share/man/*.[1-9]")
execute_process(COMMAND gzip --best --no-name --force ${pages} "${doc}/changelog" COMMAND_ERROR_IS_FATAL ANY)

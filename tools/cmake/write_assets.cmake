# Run by lull_assets() while building: bytes as arrays, since string literals have a limit.
set(text "#include \"${HEADER}\"\n\nnamespace {\n\n")
set(views "")
while(FILES)
  list(POP_FRONT FILES name file)
  file(READ "${file}" bytes HEX)
  string(REGEX REPLACE "(..)" "0x\\1," bytes "${bytes}")
  string(APPEND text "constexpr unsigned char ${name}Bytes[] = {${bytes}};\n")
  string(APPEND views
    "const std::string_view ${name}(reinterpret_cast<const char*>(${name}Bytes), sizeof ${name}Bytes);\n")
endwhile()
string(APPEND text "\n}  // namespace\n\nnamespace ${NAMESPACE} {\n\n${views}\n}  // namespace ${NAMESPACE}\n")
file(WRITE "${OUTPUT}" "${text}")

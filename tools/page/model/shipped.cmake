# Writes OUTPUT, the source of shipped.hpp's files: those of SOURCE/scenarios that a scene may be or
# name. A script, so that it runs again when one of them has changed.
set(text "#include \"tools/page/model/shipped.hpp\"\n\nnamespace plunge {\nnamespace {\n\n")
string(APPEND text "constexpr ShippedFile kFiles[] = {\n")
file(GLOB files RELATIVE ${SOURCE}/scenarios
     ${SOURCE}/scenarios/bikes/*.toml ${SOURCE}/scenarios/forks/*.toml ${SOURCE}/scenarios/riders/*.toml
     ${SOURCE}/scenarios/scenes/*.toml ${SOURCE}/scenarios/terrain/*)
list(SORT files)
foreach(file ${files})
  file(READ ${SOURCE}/scenarios/${file} content)
  string(APPEND text "    {\"${file}\", R\"~~~(${content})~~~\"},\n")
endforeach()
string(APPEND text "};\n\n}  // namespace\n\nstd::span<const ShippedFile> shipped_files() { return kFiles; }\n\n}  // namespace plunge\n")
file(WRITE ${OUTPUT} "${text}")

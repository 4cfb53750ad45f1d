# Writes the ready-made plans as C text: cmake -DOUT=FILE -DFOLDER=DIR -DNAMES=a,b -P embed.cmake
string(REPLACE "," ";" names "${NAMES}")
set(code "/* Made from src/job/plans by src/job/plans/embed.cmake; edit the plans, not this. */\n")
string(APPEND code "#include \"job/plan.h\"\n\nstatic const char *const names[] = {")
foreach(name ${names})
  string(APPEND code "\"${name}\", ")
endforeach()
string(APPEND code "0};\nstatic const char *const texts[] = {\n")
foreach(name ${names})
  file(READ "${FOLDER}/${name}.plan" text)
  string(REPLACE "\\" "\\\\" text "${text}")
  string(REPLACE "\"" "\\\"" text "${text}")
  string(REPLACE "\n" "\\n\"\n    \"" text "${text}")
  string(APPEND code "    \"${text}\",\n")
endforeach()
string(APPEND code "};\n
bool plan_ready_made_at(int index, const char **name, const char **text)
{
    if (index < 0 || index >= (int)(sizeof texts / sizeof *texts))
        return false;
    *name = names[index];
    *text = texts[index];
    return true;
}
")
file(WRITE "${OUT}" "${code}")

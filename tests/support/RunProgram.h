// SPDX-License-Identifier: GPL-3.0-or-later
#pragma once
#include <sys/wait.h>

#include <algorithm>
#include <cstdlib>
#include <string>
#include <vector>

#include "TemporaryFolder.h"

namespace trammel::test {

struct Ran {
    int code = -1;  ///< exit code; -1 when a signal ended it
    std::string out, err;
    /// Standard error is one line that ends as a sentence.
    bool oneSentence() const {
        return std::count(err.begin(), err.end(), '\n') == 1 && err.size() > 2 &&
               err.substr(err.size() - 2) == ".\n";
    }
};

inline std::string quoted(const std::string& s) {
    std::string q = "'";
    for (const char c : s) q += c == '\'' ? std::string("'\\''") : std::string(1, c);
    return q + "'";
}

/// Runs a program through the shell. `before` are shell words in front ("ulimit -f 1; "), `after` behind it
/// ("> /dev/full"); without it standard output is captured.
inline Ran runProgram(const std::string& program, const std::vector<std::string>& arguments,
                      const std::string& before = "", const std::string& after = "") {
    const TemporaryFolder folder;
    std::string command = before + quoted(program);
    for (const std::string& a : arguments) command += " " + quoted(a);
    command += after.empty() ? " > " + quoted((folder / "out").string()) : " " + after;
    command += " 2> " + quoted((folder / "err").string());
    const int status = std::system(command.c_str());
    Ran ran;
    ran.code = WIFEXITED(status) ? WEXITSTATUS(status) : -1;
    ran.out = bytesOf(folder / "out");
    ran.err = bytesOf(folder / "err");
    return ran;
}

}  // namespace trammel::test

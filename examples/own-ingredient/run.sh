set -e
optimiser check worktable
echo
optimiser propose lake-mask -w worktable --instead-of kaolin --use lake-clay
echo
optimiser propose lake-mask -w worktable --leave-out substance:Reedmossin

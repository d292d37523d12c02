# Completion of amble for bash; made by "amble help --bash".
_amble()
{
    local word=${COMP_WORDS[COMP_CWORD]} command= i
    for ((i = 1; i < COMP_CWORD; i++)); do
        case ${COMP_WORDS[i]} in
        --data | --config | --shipped | --as) ((i++)) ;;
        -*) ;;
        *) command=${COMP_WORDS[i]}; break ;;
        esac
    done
    case $command in
    '') COMPREPLY=($(compgen -W 'enter list find today show sheet print referral bench build draw paper equipment export calc template check verify backup restore sync device base demo help version --data --config --shipped --as --read-only --help --version' -- "$word")) ;;
    enter) COMPREPLY=($(compgen -W '--json' -- "$word")) ;;
    list) COMPREPLY=($(compgen -W '--limit --json' -- "$word")) ;;
    find) COMPREPLY=($(compgen -W '--json' -- "$word")) ;;
    today) COMPREPLY=($(compgen -W '--json' -- "$word")) ;;
    show) COMPREPLY=($(compgen -W '--json --history' -- "$word")) ;;
    sheet) COMPREPLY=($(compgen -W '--handout --ascii --save --replace' -- "$word")) ;;
    print) COMPREPLY=($(compgen -W '--handout --history --ascii --to --preview' -- "$word")) ;;
    referral) COMPREPLY=($(compgen -W '--ascii --save --replace' -- "$word")) ;;
    bench) COMPREPLY=($(compgen -W '--axle --json' -- "$word")) ;;
    build) COMPREPLY=($(compgen -W '--freeze --because --json --save --replace' -- "$word")) ;;
    draw) COMPREPLY=($(compgen -W '--svg --ascii --save --replace' -- "$word")) ;;
    equipment) COMPREPLY=($(compgen -W '--json' -- "$word")) ;;
    export) COMPREPLY=($(compgen -W '--save' -- "$word")) ;;
    calc) COMPREPLY=($(compgen -W '--json' -- "$word")) ;;
    template) COMPREPLY=($(compgen -W '--draw' -- "$word")) ;;
    check) COMPREPLY=($(compgen -W '--json' -- "$word")) ;;
    backup) COMPREPLY=($(compgen -W '--sealed --set-up --days' -- "$word")) ;;
    sync) COMPREPLY=($(compgen -W '--photos --serve' -- "$word")) ;;
    device) COMPREPLY=($(compgen -W '--name --fingerprint --after --because' -- "$word")) ;;
    base) COMPREPLY=($(compgen -W '--name --backup' -- "$word")) ;;
    esac
}
complete -o default -F _amble amble
